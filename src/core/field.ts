/** Units that a field's values can carry; `1` is a bare ratio. */
export type FieldUnit = '1' | 'um' | 'mm' | 'J/mm' | 'J/mm2' | 'W' | 'K';

/**
 * A regular grid of cells over the slab. Row-major, row 0 at the far edge (picture top), `data[y * width + x]`.
 * `pitchMm` is the cell size; cells are square.
 */
export interface Field<Unit extends FieldUnit> {
  readonly unit: Unit;
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  readonly data: Float32Array;
}

/**
 * Makes a field, zero-filled unless data are given.
 * @throws RangeError if a size is not a whole number ≥ 0, the pitch is not positive, or the data have another length.
 */
export function createField<Unit extends FieldUnit>(
  unit: Unit,
  width: number,
  height: number,
  pitchMm: number,
  data: Float32Array = new Float32Array(width * height),
): Field<Unit> {
  if (!Number.isInteger(width) || !Number.isInteger(height) || width < 0 || height < 0) {
    throw new RangeError(`a field needs whole sizes, got ${width} × ${height}`);
  }
  if (!(pitchMm > 0)) throw new RangeError(`a field needs a positive pitch, got ${pitchMm} mm`);
  if (data.length !== width * height) {
    throw new RangeError(`a field of ${width} × ${height} needs ${width * height} values, got ${data.length}`);
  }
  return { unit, width, height, pitchMm, data };
}
