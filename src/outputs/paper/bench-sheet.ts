import { CAUTION_CLOSE, CAUTIONS } from '../../base/cautions.ts';
import { areaMm2 } from '../../base/geometry/outline.ts';
import type { Maker } from '../../base/maker.ts';
import { mmPerSToMmPerMin, pitchMmToRowsPerInch, radToDeg } from '../../base/units.ts';
import { screenOf } from '../../image/screens/screen-tone.ts';
import { slabPerimeter } from '../../physics/bed/bed.ts';
import { wetForDryUm } from '../../physics/film/spray-fan.ts';
import type { PassTime } from '../../physics/raster/pass-time.ts';
import type { Coat, Pass, Piece, Slab } from '../../piece/schema.ts';
import { type Block, type Paper, PROOF_HEIGHT_MM, PROOF_MM } from './paper.ts';
import { bedDrawing, slabDrawing } from './slab-drawing.ts';

/** A power to try on a scrap or an edge first, with what it is expected to do. */
export interface LadderRung {
  readonly power: number;
  readonly words: string;
}

interface BenchSheetInput {
  readonly piece: Piece;
  readonly photo: { readonly width: number; readonly height: number };
  /** One per pass. */
  readonly times: readonly PassTime[];
  /** The proof as a data URL; null where none is at hand. */
  readonly proofUrl: string | null;
  readonly maker: Maker;
  /** What the proof says, a sentence each. */
  readonly predicted: readonly string[];
  readonly ladder: readonly LadderRung[];
  readonly code: string;
  /** The code as a drawing that a phone reads, SVG text. */
  readonly codeSvg: string;
}

/** The paper that lies beside the machine. */
export function benchSheet(input: BenchSheetInput): Paper {
  const { piece, photo, times } = input;
  const total = times.reduce((sum, { timeS }) => sum + timeS, 0);
  return {
    title: piece.name || 'Untitled piece',
    subtitle: `Bench sheet · ${mm(piece.slab.widthMm)} × ${mm(piece.slab.heightMm)} mm ${piece.slab.wood.name.toLowerCase()} · ${hours(total)}`,
    language: 'en',
    foot: `Foreburn bench sheet · ${input.code}`,
    maker: input.maker,
    blocks: [
      {
        kind: 'columns',
        columns: [pictures(input), [...codeBlocks(input), ...slabBlocks(piece), ...placeBlocks(piece)]],
      },
      { kind: 'heading', text: 'Coats, from the wood up' },
      ...coatBlocks(piece),
      { kind: 'heading', text: 'Machine and passes' },
      ...passBlocks(piece, times),
      { kind: 'heading', text: 'Order of work' },
      { kind: 'ticks', items: orderOfWork(piece, input.ladder.length > 0) },
      {
        kind: 'columns',
        columns: [
          [{ kind: 'heading', text: 'Try first' }, ...ladderBlocks(input.ladder)],
          [
            { kind: 'heading', text: 'Where it lies on the bed' },
            {
              kind: 'drawing',
              svg: bedDrawing(piece, photo),
              widthMm: 56,
              caption: 'From above; the dot is the bed’s near left corner.',
            },
          ],
        ],
      },
      {
        kind: 'columns',
        columns: [
          [
            { kind: 'heading', text: 'A second pass lands on the first if' },
            { kind: 'steps', steps: registration(piece) },
          ],
          [
            { kind: 'heading', text: 'Before you burn' },
            { kind: 'bullets', items: CAUTIONS },
          ],
        ],
      },
      { kind: 'text', text: CAUTION_CLOSE, tone: 'quiet' },
      { kind: 'heading', text: 'What came out' },
      { kind: 'lines', label: 'Date, minutes, light areas, darks, scorch, where:', count: 4 },
    ],
  };
}

const mm = (value: number): string => String(Math.round(10 * value) / 10);

function pictures({ piece, photo, proofUrl }: BenchSheetInput): Block[] {
  const proof: Block[] = proofUrl
    ? [
        {
          kind: 'picture',
          url: proofUrl,
          widthMm: PROOF_MM.sheet,
          heightMm: PROOF_HEIGHT_MM.sheet,
          caption: 'The proof: how the burned picture is predicted to look.',
        },
      ]
    : [];
  const lines = [
    ...(piece.slab.maskedRimMm > 0 ? ['masking line (dashed)'] : []),
    piece.picture.lettering.length > 0 ? 'edge of the picture and lettering (brown)' : 'edge of the picture (brown)',
    ...(piece.slab.knots.length > 0 ? ['knots'] : []),
  ];
  const caption = `Slab, ${lines.join(', ')}.`;
  const { widthMm, heightMm } = piece.slab;
  const drawing: Block = {
    kind: 'drawing',
    svg: slabDrawing(piece, photo),
    widthMm: Math.min(PROOF_MM.sheet, (PROOF_HEIGHT_MM.sheet * widthMm) / heightMm),
    caption,
  };
  return [...proof, drawing, ...letteringBlocks(piece)];
}

function letteringBlocks({ picture: { lettering } }: Piece): Block[] {
  if (lettering.length === 0) return [];
  const facts = lettering.map((one): [string, string] =>
    one.kind === 'text'
      ? [one.text, `${mm(one.capMm)} mm high, ${one.place.along === 'rim' ? 'along the rim' : 'straight'}`]
      : ['Border', `${mm(one.lineMm)} mm wide, ${one.follows === 'rim' ? 'along the rim' : 'round the picture'}`],
  );
  return [{ kind: 'facts', facts }];
}

function codeBlocks({ code, codeSvg, predicted }: BenchSheetInput): Block[] {
  return [
    { kind: 'drawing', svg: codeSvg, widthMm: 24, caption: `Piece ${code}` },
    ...predicted.map((text): Block => ({ kind: 'text', text })),
  ];
}

function slabBlocks({ slab }: Piece): Block[] {
  const facts: [string, string][] = [
    ['Wood', `${slab.wood.name}, ${slab.finish === 'sanded' ? 'sanded' : 'as sawn'}`],
    ['Size', `${mm(slab.widthMm)} × ${mm(slab.heightMm)} × ${mm(slab.thicknessMm)} mm`],
    ['Rim to mask', slab.maskedRimMm > 0 ? `${mm(slab.maskedRimMm)} mm` : 'none'],
    ['Knots', slab.knots.length === 0 ? 'none' : String(slab.knots.length)],
  ];
  const open = slab.checks.filter(({ filled }) => !filled).length;
  if (open > 0) facts.push(['Open checks', String(open)]);
  return [
    { kind: 'heading', text: 'Slab' },
    { kind: 'facts', facts },
  ];
}

function placeBlocks({ placement, picture }: Piece): Block[] {
  return [
    { kind: 'heading', text: 'Placement' },
    {
      kind: 'facts',
      facts: [
        ['Slab’s middle on the bed', `${mm(placement.xMm)}, ${mm(placement.yMm)} mm`],
        ['Turned', `${mm(radToDeg(placement.turnRad))}°`],
        ['Picture’s width', `${mm(picture.widthMm)} mm`],
        ['Picture’s middle from the slab’s', `${mm(picture.offsetXMm)}, ${mm(picture.offsetYMm)} mm`],
      ],
    },
  ];
}

const LAID: Readonly<Record<Coat['application']['kind'], string>> = {
  even: 'not known',
  sprayed: 'sprayed',
  brushed: 'brushed',
  poured: 'poured',
};

function coatBlocks({ stack, slab, quote }: Piece): Block[] {
  if (stack.coats.length === 0) return [{ kind: 'text', text: 'None: the wood stays bare.' }];
  const rows = stack.coats.toReversed().map((coat) => {
    const { wetLayerUm, paintMl } = paintNeeded(coat, slab, quote.paintLoss);
    return [
      `${coat.name}${coat.sandedAfter ? ', then sand' : ''}`,
      LAID[coat.application.kind],
      String(coat.layers),
      `${Math.round(wetLayerUm)} µm`,
      `${Math.round(coat.dryThicknessUm)} µm`,
      `${Math.ceil(paintMl)} mL`,
      `${mm(coat.dryHours)} h`,
    ];
  });
  return [
    {
      kind: 'table',
      head: ['Coat', 'How', 'Times', 'Wet, each time', 'Dry, together', 'Paint', 'Wait after each'],
      rows,
      numeric: [false, false, true, true, true, true, true],
    },
    {
      kind: 'text',
      tone: 'quiet',
      text: `Paint without thinner, ${percentWords(quote.paintLoss)} of it lost. Then cure ${mm(stack.cureHours)} h before the burn; the paint maker’s data sheet comes first.`,
    },
  ];
}

function passBlocks({ machine, passes }: Piece, times: readonly PassTime[]): Block[] {
  const focus = (pass: Pass) => (pass.focusOffsetMm === 0 ? 'on the face' : `${mm(pass.focusOffsetMm)} mm`);
  const rows = passes.map((pass, i) => [
    `Pass\u00a0${i + 1}`,
    percentWords(pass.lightEndPower),
    percentWords(pass.darkEndPower),
    `${Math.round(mmPerSToMmPerMin(Math.min(pass.feedMmPerS, machine.motion.maxFeedMmPerS)))} mm/min`,
    `${pass.rowPitchMm.toFixed(4)} mm (${Math.round(pitchMmToRowsPerInch(pass.rowPitchMm))}/inch)`,
    `${mm(radToDeg(pass.headingRad))}°, ${pass.rows === 'two-way' ? 'both ways' : 'one way'}`,
    screenOf(pass.screen).look,
    focus(pass),
    times[i] ? hours(times[i].timeS) : '',
  ]);
  return [
    {
      kind: 'facts',
      facts: [
        ['Machine', machine.name],
        ['Source', `${machine.source.wavelengthNm} nm, ${mm(machine.source.fullPowerW)} W at 100 %`],
        ['Run-up', `${mm(machine.motion.runUpMm)} mm`],
      ],
    },
    {
      kind: 'table',
      head: ['', 'Light end', 'Dark end', 'Feed', 'Row pitch', 'Heading', 'Screen', 'Focus', 'Time'],
      rows,
      numeric: [false, true, true, true, false, false, false, false, true],
    },
  ];
}

const ladderBlocks = (ladder: readonly LadderRung[]): Block[] =>
  ladder.length === 0
    ? [{ kind: 'text', text: 'Nothing to try: these numbers were calibrated on this stack and machine.' }]
    : [
        {
          kind: 'text',
          text: 'On scrap with the same coats, or on an edge that will not be seen, from the weakest up; stop at the first that clears.',
        },
        {
          kind: 'table',
          head: ['Power', 'Expected', 'Seen'],
          rows: ladder.map(({ power, words }) => [percentWords(power), words, '']),
          numeric: [true, false, false],
        },
      ];

/** What is done one after another at the bench, from the raw slab to the finished one. Common practice, no published source. */
function orderOfWork(piece: Piece, tries: boolean): string[] {
  const { slab, stack, placement, passes } = piece;
  const steps: string[] = [];
  if (slab.finish === 'sanded') steps.push('Sand the face; brush and vacuum the dust off.');
  if (slab.checks.some(({ filled }) => filled) || slab.knots.some(({ filled }) => filled)) {
    steps.push('Fill the checks that are to be filled, let the filler harden, sand it flush.');
  }
  if (slab.maskedRimMm > 0 && stack.coats.length > 0) {
    steps.push(
      `Tape the rim off, ${slab.maskedRimMm.toFixed(0)} mm wide: a little onto the dark rim rather than short of it.`,
    );
  }
  for (const coat of stack.coats.toReversed()) {
    const layers = coat.layers === 1 ? 'once' : `${coat.layers} times`;
    steps.push(
      `${coat.name}: ${layers}, ${coat.dryHours} h to dry after each${coat.sandedAfter ? '; then rub it down' : ''}.`,
    );
  }
  if (stack.coats.length > 0) steps.push(`Let it cure for ${stack.cureHours} h.`);
  if (slab.maskedRimMm > 0 && stack.coats.length > 0) steps.push('Take the tape off.');
  steps.push(
    'Lay the slab on the bed as drawn; pin it so that it cannot move.',
    'Set the focus on the middle of the face.',
    // Before any beam, the pilot's too.
    'Extraction on, enclosure shut, extinguisher at hand. Stay with it.',
    placement.pilotPower > 0
      ? `Perimeter walk at ${percentWords(placement.pilotPower)}: outline first, then the picture’s edge.`
      : 'Perimeter walk with the beam off: outline first, then the picture’s edge.',
    ...(tries ? ['Try the powers below; set what clears.'] : []),
  );
  passes.forEach((_, i) => {
    steps.push(
      i === 0
        ? 'Burn pass 1.'
        : `Leave the slab where it is; look at it under a low lamp. Burn pass ${i + 1} if it is still needed.`,
    );
  });
  steps.push(
    'Before the slab is moved: look at it under a low lamp, then decide.',
    'Brush off the ash; seal if wanted.',
  );
  return steps;
}

/** What makes a later pass land on an earlier one. Common practice, no published source. */
function registration({ placement }: Piece): string[] {
  return [
    'The slab has not been moved, and nothing has leaned on it.',
    'The head parks at the picture’s middle after each pass; start the next one from there.',
    'The machine has not been homed, switched off or stalled in between; if it has, set it on its marks again.',
    placement.referenceMark
      ? 'The reference mark in the margin was burned: bring the pilot beam onto it and check before you go on.'
      : 'If in doubt, walk the picture’s edge with the beam off and compare it with what is burned.',
  ];
}

/** Numbers as papers say them. */
const percentWords = (share: number): string => `${Math.round(1000 * share) / 10} %`;

/** A time in hours and minutes. */
function hours(seconds: number): string {
  const minutes = Math.max(1, Math.round(seconds / 60));
  return minutes < 60 ? `${minutes} min` : `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, '0')} min`;
}

/** Wet thickness of one layer in µm, and paint for the whole coat in mL. */
interface PaintNeeded {
  readonly wetLayerUm: number;
  readonly paintMl: number;
}

/**
 * Paint for a coat on the slab's whole face, thinner not counted: `A · DFT / VS` (ISO 3233), over the share that ends up on the slab.
 * @param loss share of the paint that does not, 0–1.
 */
export function paintNeeded(coat: Coat, slab: Slab, loss: number): PaintNeeded {
  const solids = Math.max(0.01, coat.volumeSolids);
  const paintUm = wetForDryUm(coat.dryThicknessUm, solids, 0);
  return {
    wetLayerUm: wetForDryUm(coat.dryThicknessUm / coat.layers, solids, coat.thinnerShare),
    paintMl: (Math.abs(areaMm2(slabPerimeter(slab))) * paintUm) / 1e6 / (1 - loss),
  };
}
