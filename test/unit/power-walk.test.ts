import { expect, test } from 'vitest';
import { planPass, subCells } from '../../src/burn/plan.ts';
import type { Photo } from '../../src/burn/prepare.ts';
import { createProofPipeline } from '../../src/burn/proof.ts';
import { createInlineRunner } from '../../src/burn/runner.ts';
import { benchSheet } from '../../src/outputs/paper/bench-sheet.ts';
import { openMachineFile } from '../../src/outputs/program/machine-files.ts';
import { changePass, usePieceStore } from '../../src/page/store/piece-store.ts';
import { pictureOf, plainPiece } from '../helpers/burn.ts';
import { readProgram } from '../helpers/gcode-reader.ts';
import { recordingBurn } from '../helpers/recording-burn.ts';

const DOTS = 40;
const FULL_W = 20;

test('40 % that are set are the same watts in the plan, in what the kernel is given, in the program’s S and on the bench sheet', async () => {
  const plain = plainPiece(DOTS);
  const { source } = plain.machine;
  usePieceStore.setState({
    piece: {
      ...plain,
      slab: { ...plain.slab, widthMm: 60, heightMm: 60 },
      machine: {
        ...plain.machine,
        source: { ...source, fullPowerW: FULL_W, riseTimeS: 0, fallTimeS: 0, powerCurve: [] },
      },
    },
  });
  changePass(0, { lightEndPower: 0.4 });
  const { piece } = usePieceStore.getState();
  const [pass] = piece.passes;
  const watts = 0.4 * FULL_W;

  const pitchMm = pass.rowPitchMm;
  const planned = planPass(piece, pass, { width: DOTS, height: DOTS, pitchMm, ...subCells(piece) });
  expect(planned.wattsAt[255]).toBeCloseTo(watts, 12);

  const photo: Photo = { key: 'white', picture: pictureOf(DOTS, DOTS, () => 1), castless: null };
  const recorded = recordingBurn();
  await createProofPipeline().proof(
    { piece, photo, collect: { surface: false, fields: false, painted: false } },
    createInlineRunner(recorded.burnPass),
  );
  // In the middle of a white picture a row's exposure is its watts over the feed: power over speed, J/mm.
  const highest = Math.max(
    ...recorded.calls.map(({ input }) => input.exposure.data.reduce((a, b) => Math.max(a, b), 0)),
  );
  expect(highest * pass.feedMmPerS).toBeCloseTo(watts, 3);

  const { parts } = await openMachineFile({ kind: 'pass', index: 0 }, piece, photo);
  const text = [...parts].map(({ bytes }) => new TextDecoder().decode(bytes)).join('');
  const strongest = Math.max(...readProgram(text).motions.map(({ s }) => s));
  expect((strongest / piece.machine.control.powerScale) * FULL_W).toBeCloseTo(watts, 6);

  const sheet = benchSheet({
    maker: { name: '', mark: null },
    piece,
    photo: photo.picture,
    times: [{ timeS: 60, rows: DOTS, burnedMm: 1 }],
    proofUrl: null,
    predicted: [],
    ladder: [],
    code: 'ABCD-EFGH',
    codeSvg: '<svg viewBox="0 0 1 1"></svg>',
  });
  expect(JSON.stringify(sheet)).toContain('"40 %"');
});
