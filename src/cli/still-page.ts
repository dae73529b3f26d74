import type { ClientFileData } from '../render/mockup/client-file.ts';

/** A page that draws one still by itself: its pictures stand in it, so that it counts as loaded only when they are there. */
export function stillPage(
  { color, relief, rim, ...data }: ClientFileData & { readonly width: number; readonly height: number },
  program: string,
): string {
  const image = (id: string, address: string): string => `<img id="${id}" src="${address}" alt="">`;
  const json = JSON.stringify({ ...data, rim: rim && {} }).replace(/</g, '\\u003c');
  return `<!doctype html>
<meta charset="utf-8">
<script type="application/json" id="piece">${json}</script>
<script>${program.replace(/<\/(script)/gi, '<\\/$1')}</script>
${image('color', color)}${image('relief', relief)}${rim ? image('rim', rim.color) + image('rim-normal', rim.normal) : ''}
`;
}
