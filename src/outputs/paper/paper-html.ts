import { escapeHtml } from '../../base/escape-html.ts';
import { MARK_MM, type Maker } from '../../base/maker.ts';
import type { Block, Paper } from './paper.ts';
import { keepTogether } from './paper.ts';

const text = (one: string): string => escapeHtml(keepTogether(one));

/**
 * A paper as one HTML document that needs nothing from outside and prints on A4 or Letter.
 * @param letters rules that bring its type along (`base/letters.ts`).
 */
export function paperHtml(paper: Paper, letters: string): string {
  return `<!doctype html>
<html lang="${text(paper.language)}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; img-src data:; font-src data:; style-src 'unsafe-inline'">
<title>${text(paper.title)}</title>
<style>
${letters}${STYLE}</style>
</head>
<body>
<main>
<header><div><h1>${text(paper.title)}</h1><p>${text(paper.subtitle)}</p></div>${makerHtml(paper.maker)}</header>
${paper.blocks.map(blockHtml).join('\n')}
<footer>${text(paper.foot)}</footer>
</main>
</body>
</html>
`;
}

function makerHtml({ name, mark }: Maker): string {
  if (!name && !mark) return '';
  return `<div class="maker">${mark ? `<img src="${text(mark)}" alt="">` : ''}${name ? `<p>${text(name)}</p>` : ''}</div>`;
}

function blockHtml(block: Block): string {
  const items = (list: readonly string[]) => list.map((item) => `<li>${text(item)}</li>`).join('');
  const figure = (inside: string, { widthMm, caption }: { widthMm: number; caption: string }) =>
    `<figure style="max-width:${widthMm}mm">${inside}<figcaption>${text(caption)}</figcaption></figure>`;
  switch (block.kind) {
    case 'heading':
      return `<h2>${text(block.text)}</h2>`;
    case 'text':
      return `<p class="${block.tone ?? 'plain'}">${text(block.text)}</p>`;
    case 'facts':
      return `<dl>${block.facts.map(([label, value]) => `<div><dt>${text(label)}</dt><dd>${text(value)}</dd></div>`).join('')}</dl>`;
    case 'table': {
      const cell = (tag: 'th' | 'td') => (value: string, i: number) =>
        `<${tag}${block.numeric?.[i] ? ' class="number"' : ''}${tag === 'th' ? ' scope="col"' : ''}>${text(value)}</${tag}>`;
      const row = (cells: readonly string[], i: number) =>
        `<tr${block.strong?.includes(i) ? ' class="sum"' : ''}>${cells.map(cell('td')).join('')}</tr>`;
      return `<table><thead><tr>${block.head.map(cell('th')).join('')}</tr></thead><tbody>${block.rows.map(row).join('')}</tbody></table>`;
    }
    case 'steps':
      return `<ol>${items(block.steps)}</ol>`;
    case 'ticks':
      return `<ul class="ticks">${items(block.items)}</ul>`;
    case 'bullets':
      return `<ul>${items(block.items)}</ul>`;
    case 'picture':
      return figure(
        `<img src="${text(block.url)}" alt="${text(block.caption)}" style="max-height:${block.heightMm}mm">`,
        block,
      );
    case 'drawing':
      return figure(block.svg, block);
    case 'lines':
      return `<div class="lines"><p>${text(block.label)}</p>${'<i></i>'.repeat(block.count)}</div>`;
    case 'columns':
      return `<div class="columns">${block.columns.map((blocks) => `<div>${blocks.map(blockHtml).join('\n')}</div>`).join('')}</div>`;
    case 'page-break':
      return '<hr class="page-break">';
  }
}

const STYLE = `
@page { size: auto; margin: 14mm 15mm 15mm; }
* { box-sizing: border-box; }
html { background: #e9e5df; }
body { margin: 0; color: #2a2622; font: 10pt/1.42 'Public Sans', 'Segoe UI', system-ui, sans-serif; font-variant-numeric: tabular-nums; }
main { max-width: 190mm; margin: 8mm auto; padding: 14mm 15mm; background: #fff; box-shadow: 0 1px 12px #0002; }
header { display: flex; flex-wrap: wrap; align-items: end; justify-content: space-between; gap: 2mm 6mm; border-bottom: 0.6pt solid #8a5a33; padding-bottom: 2.5mm; margin-bottom: 5mm; }
h1 { font: 600 19pt/1.15 Fraunces, Georgia, serif; margin: 0; overflow-wrap: anywhere; }
header p { margin: 1mm 0 0; color: #6b625a; }
.maker { text-align: right; margin-left: auto; } .maker img { display: block; max-width: ${MARK_MM.width}mm; max-height: ${MARK_MM.height}mm; margin-left: auto; }
h2 { font: 600 11.5pt/1.25 Fraunces, Georgia, serif; margin: 5mm 0 1.5mm; break-after: avoid; }
p { margin: 0 0 2mm; max-width: 78ch; white-space: pre-line; overflow-wrap: anywhere; }
p.quiet, figcaption { color: #6b625a; font-size: 8.5pt; }
p.warning { border-left: 2.4pt solid #9c4a1e; padding-left: 3mm; }
dl { margin: 0 0 2mm; display: grid; grid-template-columns: repeat(auto-fit, minmax(62mm, 1fr)); gap: 0 7mm; }
dl div { display: flex; justify-content: space-between; gap: 4mm; border-bottom: 0.4pt solid #ddd6cd; padding: 0.7mm 0; break-inside: avoid; }
dt { color: #6b625a; } dd { margin: 0; text-align: right; overflow-wrap: anywhere; }
table { width: 100%; border-collapse: collapse; margin: 0 0 3mm; break-inside: avoid; }
th { text-align: left; font-weight: 600; font-size: 8.5pt; color: #6b625a; border-bottom: 0.8pt solid #8d8278; padding: 0.8mm 2.5mm 0.8mm 0; vertical-align: bottom; }
td { border-bottom: 0.4pt solid #ddd6cd; padding: 0.9mm 2.5mm 0.9mm 0; vertical-align: top; overflow-wrap: break-word; }
.number { text-align: right; white-space: nowrap; }
tr.sum td { font-weight: 650; border-bottom: none; border-top: 0.8pt solid #8d8278; }
ol, ul { margin: 0 0 2mm; padding-left: 6mm; } li { margin: 0 0 0.8mm; break-inside: avoid; }
ul.ticks { list-style: none; padding-left: 0; }
ul.ticks li { padding-left: 6.5mm; position: relative; }
ul.ticks li::before { content: ''; position: absolute; left: 0; top: 0.7mm; width: 3.2mm; height: 3.2mm; border: 0.7pt solid #5d554d; border-radius: 0.5mm; }
figure { margin: 0 0 3mm; break-inside: avoid; } figure svg { display: block; width: 100%; height: auto; }
figure img { display: block; max-width: 100%; }
figcaption { margin-top: 1mm; }
.lines p { margin: 0; color: #6b625a; } .lines i { display: block; height: 7.5mm; border-bottom: 0.5pt solid #b3a99e; }
.columns { display: grid; grid-template-columns: repeat(auto-fit, minmax(60mm, 1fr)); gap: 0 7mm; }
.page-break { border: 0; margin: 4mm 0; break-after: page; }
footer { margin-top: 6mm; padding-top: 2mm; border-top: 0.4pt solid #ddd6cd; color: #6b625a; font-size: 8.5pt; }
@media (max-width: 640px) { main { margin: 0; padding: 6mm 5mm; } }
@media print { html { background: none; } main { margin: 0; padding: 0; max-width: none; box-shadow: none; } }
`;
