import { escapeHtml } from '../../base/escape-html.ts';
import type { Maker } from '../../base/maker.ts';
import type { SlabShape } from '../mesh/outline.ts';

/** What the program in the client's file draws from. */
export interface ClientFileData {
  readonly slab: SlabShape;
  /** Data addresses of the face's colours and of its relief (`render/model/face-map.ts`). */
  readonly color: string;
  readonly relief: string;
  readonly lowUm: number;
  readonly highUm: number;
  /** Data addresses of the rim's colours and normals where they were photographed; null where the program draws them itself. */
  readonly rim: { readonly color: string; readonly normal: string } | null;
  readonly setting: 'stand' | 'shelf' | 'cup' | 'wall';
  readonly lamp: { readonly azimuthRad: number; readonly elevationRad: number };
}

export interface ClientFileParts {
  readonly name: string;
  /** Lines under the name: size, wood, paint. */
  readonly facts: readonly string[];
  readonly maker: Maker;
  readonly data: ClientFileData;
  /** A lit picture for where nothing can be drawn, as a data address. */
  readonly still: string;
  /** Likely ends of how it comes out, as data addresses; null without. */
  readonly band: { readonly lighter: string; readonly darker: string } | null;
  /** The program, JavaScript. */
  readonly program: string;
  /** SHA-256 of a text's UTF-8 as base64. */
  readonly sha256: (text: string) => Promise<string>;
}

/** What every client is told. */
export const HONEST_NOTE =
  'Computed before burning. Wood and hand-laid paint vary, so grain, edge and tone will differ a little; so do screens.';

/**
 * One HTML file for the client, which opens without a network: the slab to turn, a lamp to move. Its policy allows nothing from outside
 * (Content Security Policy Level 3); the program and the style are let in by their hashes.
 */
export async function clientFile(parts: ClientFileParts): Promise<string> {
  const { name, facts, maker, data, still, band, sha256 } = parts;
  const program = parts.program.replace(/<\/(script)/gi, '<\\/$1');
  // Large, and wanted here only.
  const { letterRules } = await import('../../base/letters.ts');
  const style = `\n${letterRules()}${CLIENT_STYLE}`;
  const policy = [
    "default-src 'none'",
    'img-src data:',
    'font-src data:',
    `style-src 'sha256-${await sha256(style)}'`,
    `script-src 'sha256-${await sha256(program)}'`,
    "base-uri 'none'",
    "form-action 'none'",
  ].join('; ');
  const title = escapeHtml(name);
  const json = JSON.stringify(data).replace(/</g, '\\u003c');
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<title>${title}</title>
<style>${style}</style>
</head>
<body>
<main>
<figure>
<img id="still" src="${still}" alt="${title}, as it will look">
<canvas id="picture" tabindex="0" role="application" aria-roledescription="slab to turn" aria-label="${title}. Arrow keys turn it, plus and minus bring it nearer or farther, 0 puts it back.">
</canvas>
</figure>
<section class="hands" aria-label="What to look at">
<fieldset>
<legend>See it</legend>
${SETTINGS.map(([value, label]) => `<label><input type="radio" name="setting" value="${value}"><span>${label}</span></label>`).join('\n')}
</fieldset>
<div class="lamp">
<label>Lamp, round the picture<input id="lamp-around" type="range" min="-180" max="180" step="3"></label>
<label>Lamp, low to high<input id="lamp-height" type="range" min="8" max="80" step="2"></label>
</div>
<p class="how">Drag the picture to turn it; pinch, or press + and −, to come nearer.</p>
</section>
<section class="words">
<div>
<h1>${title}</h1>
<ul>
${facts.map((fact) => `<li>${escapeHtml(fact)}</li>`).join('\n')}
</ul>
<p>${HONEST_NOTE}</p>
${makerLine(maker)}</div>
${
  band
    ? `<div>
<div class="band">
<figure><img src="${band.lighter}" alt="Lighter"><figcaption>If it comes out lighter</figcaption></figure>
<figure><img src="${band.darker}" alt="Darker"><figcaption>If it comes out darker</figcaption></figure>
</div>
<p class="between">Eight times in ten it will lie between these two.</p>
</div>`
    : ''
}
</section>
</main>
<script type="application/json" id="piece">${json}</script>
<script>${program}</script>
</body>
</html>
`;
}

const makerLine = ({ name, mark }: Maker): string =>
  name || mark
    ? `<p class="maker">${mark ? `<img src="${escapeHtml(mark)}" alt="">` : ''}${name ? `<span>${escapeHtml(name)}</span>` : ''}</p>\n`
    : '';

const SETTINGS = [
  ['stand', 'On its own'],
  ['shelf', 'On a shelf'],
  ['cup', 'Beside a cup'],
  ['wall', 'On a wall'],
] as const;

/** The look of the client's file: the picture nearly fills the page, the words stand quietly below. */
const CLIENT_STYLE = `
:root { color-scheme: light; --paper: #f3f0eb; --ink: #2c2722; --quiet: #6a625a; --line: #d9d2c8; --accent: #2b6279; }
* { box-sizing: border-box; }
body { margin: 0; background: var(--paper); color: var(--ink); font: 16px/1.55 "Public Sans", system-ui, sans-serif; }
main { max-width: 1180px; margin: 0 auto; padding: clamp(0px, 2.4vw, 28px) clamp(0px, 2.4vw, 28px) 56px; }
main > figure { position: relative; margin: 0; aspect-ratio: 4 / 3; max-height: 82vh; width: 100%; overflow: hidden; background: #8e8982; border-radius: 3px; }
#still, #picture { position: absolute; inset: 0; width: 100%; height: 100%; }
#still { object-fit: cover; }
#picture { display: none; touch-action: none; cursor: grab; outline-offset: -4px; }
#picture:active { cursor: grabbing; }
.live #picture { display: block; }
.live #still { display: none; }
.hands { display: none; }
.live .hands { display: flex; flex-wrap: wrap; gap: 14px 36px; align-items: end; padding: 18px clamp(18px, 2vw, 4px) 0; font-size: 15px; line-height: 1.4; }
fieldset { border: 0; margin: 0; padding: 0; display: flex; flex-wrap: wrap; gap: 6px; }
legend { padding: 0; margin-bottom: 6px; color: var(--quiet); font-size: 14px; }
fieldset label { position: relative; }
fieldset input { position: absolute; inset: 0; opacity: 0; width: 100%; height: 100%; margin: 0; cursor: pointer; }
fieldset span { display: block; padding: 9px 15px; border: 1px solid var(--line); border-radius: 99px; background: #fbf9f6; }
fieldset input:checked + span { background: var(--ink); border-color: var(--ink); color: #fff; }
:focus-visible, fieldset input:focus-visible + span { outline: 3px solid var(--accent); outline-offset: 2px; }
.lamp { display: flex; flex-wrap: wrap; gap: 14px 26px; }
.lamp label { display: grid; gap: 8px; color: var(--quiet); font-size: 14px; }
input[type="range"] { width: 190px; height: 24px; margin: 0; accent-color: var(--accent); }
.how { flex-basis: 100%; margin: 0; color: var(--quiet); font-size: 14px; }
.words { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(100%, 26rem), 1fr)); gap: 8px 56px; align-items: start; padding: 34px clamp(18px, 2vw, 4px) 0; }
.words > div { max-width: 40rem; }
h1 { margin: 0 0 10px; font-family: Fraunces, Georgia, serif; font-weight: 600; font-size: clamp(28px, 4vw, 40px); line-height: 1.15; overflow-wrap: anywhere; }
ul { list-style: none; margin: 0 0 22px; padding: 0; color: var(--quiet); }
p { margin: 0 0 18px; }
.band { display: grid; grid-template-columns: 1fr 1fr; gap: 16px; margin: 6px 0 10px; }
.between { color: var(--quiet); font-size: 15px; }
.band figure { margin: 0; }
.band img { display: block; width: 100%; border-radius: 3px; }
.maker { display: flex; flex-wrap: wrap; align-items: center; gap: 10px 18px; color: var(--quiet); }
.maker img { display: block; max-width: 160px; max-height: 60px; }
figcaption { padding-top: 6px; color: var(--quiet); font-size: 15px; }
@media print { .hands, .live .hands { display: none; } .live #picture { display: block; } body { background: #fff; } }
`;
