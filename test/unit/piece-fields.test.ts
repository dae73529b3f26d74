import { createElement } from 'react';
import { renderToStaticMarkup } from 'react-dom/server';
import { afterEach, describe, expect, it } from 'vitest';
import { type Quantity, quantity, shownIn } from '../../src/base/quantity.ts';
import { Field } from '../../src/page/fields/Field.tsx';
import { setField, usePieceStore } from '../../src/page/store/piece-store.ts';
import { createDemoPiece } from '../../src/piece/demo-piece.ts';
import { type FieldPath, fieldOf, valueAt, withValueAt } from '../../src/piece/fields.ts';
import { pieceSchema } from '../../src/piece/schema.ts';

interface Node {
  readonly quantity?: Quantity;
  readonly safeParse: (value: unknown) => { readonly success: boolean };
  readonly def: {
    readonly shape?: Readonly<Record<string, Node>>;
    readonly element?: Node;
    readonly items?: readonly Node[];
    readonly options?: readonly Node[];
    readonly innerType?: Node;
  };
}

/** Every field below a schema that has a control, with the way there. */
function fieldsIn(node: Node, path: readonly (string | number)[]): { path: FieldPath; node: Node }[] {
  if (node.quantity) return [{ path: path.join('.') as FieldPath, node }];
  const { shape, element, items, options, innerType } = node.def;
  return [
    ...Object.entries(shape ?? {}).flatMap(([key, below]) => fieldsIn(below, [...path, key])),
    ...(items ?? []).flatMap((below, i) => fieldsIn(below, [...path, i])),
    ...(options ?? []).flatMap((below) => fieldsIn(below, path)),
    ...(element ? fieldsIn(element, [...path, 0]) : []),
    ...(innerType ? fieldsIn(innerType, path) : []),
  ];
}

// What was burned is never set again.
const FIELDS = fieldsIn(pieceSchema as unknown as Node, []).filter(({ path }) => !path.startsWith('log.'));

describe('fields of the piece', () => {
  it('are found by the way to them', () => {
    expect(FIELDS.length).toBeGreaterThan(100);
    for (const { path, node } of FIELDS) expect(fieldOf(path), path).toBe(node.quantity);
  });

  it('have a name, and steps that their decimal places and their slider can show', () => {
    for (const { path, node } of FIELDS) {
      const { label, step, digits } = node.quantity!;
      const shown = shownIn(node.quantity!);
      expect(label, path).not.toBe('');
      expect(step, path).toBeGreaterThanOrEqual(10 ** -digits);
      expect(shown.sliderLow, path).toBeGreaterThanOrEqual(shown.low);
      expect(shown.sliderHigh, path).toBeLessThanOrEqual(shown.high);
      expect(shown.sliderHigh - shown.sliderLow, path).toBeGreaterThan(step);
    }
  });

  it.each(['mm', 'inch'] as const)(
    'give a control, in %s, no limit but the one beyond which the schema refuses',
    (lengths) => {
      for (const { path, node } of FIELDS) {
        const { low, high, keep } = shownIn(node.quantity!, lengths);
        const accepts = (value: number) => node.safeParse(value).success;
        expect([keep(low), keep(high)].map(accepts), path).toEqual([true, true]);
        const span = node.quantity!.high - node.quantity!.low;
        expect(Math.abs(keep(low) - node.quantity!.low), path).toBeLessThanOrEqual(1e-12 * span);
        expect(Math.abs(keep(high) - node.quantity!.high), path).toBeLessThanOrEqual(1e-12 * span);
        expect([node.quantity!.low - 1e-6 * span, node.quantity!.high + 1e-6 * span].map(accepts), path).toEqual([
          false,
          false,
        ]);
      }
    },
  );

  it.each(['mm', 'inch'] as const)('come back from what is shown in %s', (lengths) => {
    for (const { path, node } of FIELDS) {
      const { low, high, whole } = node.quantity!;
      const { show, keep } = shownIn(node.quantity!, lengths);
      for (const share of [0.1, 0.3, 0.7]) {
        const between = low + share * (high - low);
        const kept = whole ? Math.round(between) : between;
        expect(Math.abs(keep(show(kept)) - kept), path).toBeLessThanOrEqual(1e-12 * (high - low));
      }
    }
  });
});

describe('a quantity', () => {
  const feed = fieldOf('passes.0.feedMmPerS');
  const width = fieldOf('slab.widthMm');

  it('is shown in the unit of the field, lengths and feeds in that of the maker', () => {
    expect(shownIn(fieldOf('passes.0.lightEndPower')).show(0.4)).toBe(40);
    expect(shownIn(feed).show(100)).toBe(6000);
    expect(shownIn(feed, 'inch').show(25.4)).toBeCloseTo(60, 12);
    expect(shownIn(feed, 'inch')).toMatchObject({ unit: 'in/min', step: 5, digits: 0 });
    expect(shownIn(width, 'inch')).toMatchObject({ unit: 'in', step: 0.01, digits: 2 });
    expect(shownIn(width, 'inch').keep(10)).toBe(254);
    expect(shownIn(fieldOf('machine.source.riseTimeS')).show(0.00005)).toBeCloseTo(50, 12);
    expect(shownIn(fieldOf('machine.source.pulses.rateHz')).keep(30)).toBe(30000);
  });

  it('keeps what is typed within its range, and whole where it is', () => {
    expect(shownIn(width).keep(1e9)).toBe(3000);
    expect(shownIn(width).keep(-1)).toBe(5);
    expect(shownIn(fieldOf('stack.coats.0.layers')).keep(2.6)).toBe(3);
    expect(shownIn(quantity(0, 1.4, { label: 'Lean', unit: '°', step: 1, digits: 0 })).keep(90)).toBe(1.4);
  });
});

describe('a number in the piece', () => {
  const piece = createDemoPiece();

  it('is read and set by its path, all else shared', () => {
    const set = withValueAt(piece, 'stack.coats.1.usualLayerUm.0', 3);
    expect(valueAt(set, 'stack.coats.1.usualLayerUm.0')).toBe(3);
    expect(valueAt(piece, 'stack.coats.1.usualLayerUm.0')).not.toBe(3);
    expect(set.stack.coats[0]).toBe(piece.stack.coats[0]);
    expect(set.slab).toBe(piece.slab);
    expect(Array.isArray(set.stack.coats)).toBe(true);
    expect(pieceSchema.safeParse(set).success).toBe(true);
  });

  it('is null where the piece has none', () => {
    expect(valueAt(piece, 'quote.options.0.pictureWidthMm')).toBeNull();
    expect(valueAt(withValueAt(piece, 'quote.options.0.pictureWidthMm', 120), 'quote.options.0.pictureWidthMm')).toBe(
      120,
    );
  });

  it('cannot be named by a path that leads to no field', () => {
    // @ts-expect-error no such field
    expect(() => fieldOf('passes.0.lightEnd')).toThrow();
    // @ts-expect-error a name is no number
    expect(() => fieldOf('stack.coats.0.name').low).toThrow();
  });
});

describe('a field on the page', () => {
  const piece = createDemoPiece();

  afterEach(() => usePieceStore.getState().replace({ piece, photo: null }));

  it('shows what the schema says of it', () => {
    let count = 0;
    for (const { path } of FIELDS) {
      // The demo piece has no knot, no pulses and no tones of a pass's own.
      const value = path.split('.').reduce<unknown>((at, key) => (at as Record<string, unknown> | null)?.[key], piece);
      if (typeof value !== 'number') continue;
      const { label } = fieldOf(path);
      const { unit, sliderLow, sliderHigh, step } = shownIn(fieldOf(path));
      const markup = renderToStaticMarkup(createElement(Field, { of: path, hint: 'What it does.' }));
      expect(markup, path).toContain(`>${label}</label>`);
      expect(markup, path).toContain(`<span class="unit">${unit}</span>`);
      expect(markup, path).toContain(`min="${sliderLow}" max="${sliderHigh}" step="${step}"`);
      count++;
    }
    expect(count).toBeGreaterThan(80);
  });

  it('sets its number in the piece, and what goes with it', () => {
    const covariance = { names: ['power'], matrix: [[0.01]] };
    usePieceStore
      .getState()
      .replace({ piece: { ...piece, certainty: { ...piece.certainty, covariance } }, photo: null });
    setField('slab.widthMm', 123);
    expect(usePieceStore.getState().piece.slab.widthMm).toBe(123);
    expect(usePieceStore.getState().piece.certainty.covariance).toEqual(covariance);
    // Spreads set by hand stand for themselves.
    setField('certainty.power', 0.2);
    expect(usePieceStore.getState().piece.certainty).toMatchObject({ power: 0.2, covariance: null });
  });
});
