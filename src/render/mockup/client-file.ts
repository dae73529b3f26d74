import { escapeHtml } from '../../base/escape-html.ts';
import type { SlabShape } from '../mesh/outline.ts';
import { CLIENT_STYLE } from './client-style.ts';

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
  'This picture is computed before anything is burned. Wood is grown, and paint is laid by hand: grain, edge and tone of your piece will differ a little from what you see here, and screens differ too.';

/**
 * One HTML file for the client, which opens without a network: the slab to turn, a lamp to move. Its policy allows nothing from outside
 * (Content Security Policy Level 3); the program and the style are let in by their hashes.
 */
export async function clientFile(parts: ClientFileParts): Promise<string> {
  const { name, facts, data, still, band, sha256 } = parts;
  const program = parts.program.replace(/<\/(script)/gi, '<\\/$1');
  const policy = [
    "default-src 'none'",
    'img-src data:',
    `style-src 'sha256-${await sha256(CLIENT_STYLE)}'`,
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
<style>${CLIENT_STYLE}</style>
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
</div>
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

const SETTINGS = [
  ['stand', 'On its own'],
  ['shelf', 'On a shelf'],
  ['cup', 'Beside a cup'],
  ['wall', 'On a wall'],
] as const;
