import { createHash } from 'node:crypto';
import { describe, expect, it } from 'vitest';
import { escapeHtml } from '../../src/base/escape-html.ts';
import { type ClientFileParts, clientFile } from '../../src/render/mockup/client-file.ts';
import { SMALL_SLAB } from '../helpers/small-face.ts';

const sha256 = async (text: string) => createHash('sha256').update(text, 'utf8').digest('base64');
const PARTS: ClientFileParts = {
  name: 'Hollin Reach',
  facts: ['Lime, 300 × 240 mm'],
  maker: { name: '', mark: null },
  data: {
    slab: SMALL_SLAB,
    color: 'data:image/png;base64,AA==',
    relief: 'data:image/png;base64,AA==',
    lowUm: -140,
    highUm: 60,
    rim: null,
    setting: 'shelf',
    lamp: { azimuthRad: 5.5, elevationRad: 0.6 },
  },
  still: 'data:image/png;base64,AA==',
  band: { lighter: 'data:image/png;base64,AA==', darker: 'data:image/png;base64,AA==' },
  program: 'document.title = "</script>";',
  sha256,
};

describe('text in HTML', () => {
  it('keeps its signs as text', () => {
    expect(escapeHtml(`<b a="x" b='y'>&`)).toBe('&lt;b a=&quot;x&quot; b=&#39;y&#39;&gt;&amp;');
  });
});

describe('the client’s file', () => {
  const scripts = (html: string) => [...html.matchAll(/<script([^>]*)>([\s\S]*?)<\/script>/g)];

  it('shows names as text wherever they stand', async () => {
    const nasty = `</title><script>alert(1)</script><img src=x onerror="alert(2)">`;
    const html = await clientFile({ ...PARTS, name: nasty, facts: [nasty] });
    expect(html).not.toContain('<script>alert');
    expect(html).not.toContain('onerror="alert');
    expect(scripts(html)).toHaveLength(2);
    expect(html.match(/&lt;script&gt;alert\(1\)/g)?.length).toBeGreaterThanOrEqual(3);
  });

  it('names its maker, with the mark', async () => {
    const mark = 'data:image/png;base64,AB==';
    const html = await clientFile({ ...PARTS, maker: { name: 'Reach & Daughters', mark } });
    expect(html).toContain(`<p class="maker"><img src="${mark}" alt=""><span>Reach &amp; Daughters</span></p>`);
    expect(await clientFile(PARTS)).not.toContain('<p class="maker">');
  });

  it('lets in by its policy just the program and the style that it has', async () => {
    const html = await clientFile(PARTS);
    const policy = /http-equiv="Content-Security-Policy" content="([^"]*)"/.exec(html)![1];
    expect(policy).toContain("default-src 'none'");
    expect(policy).not.toMatch(/https?:|unsafe|\*/);
    const [, program] = scripts(html);
    expect(policy).toContain(`'sha256-${await sha256(program[2])}'`);
    const style = /<style>([\s\S]*?)<\/style>/.exec(html)![1];
    expect(policy).toContain(`'sha256-${await sha256(style)}'`);
  });

  it('does not end its data or its program early', async () => {
    const html = await clientFile({ ...PARTS, data: { ...PARTS.data, color: '</script><b>' } });
    const [data, program] = scripts(html);
    expect(JSON.parse(data[2]).color).toBe('</script><b>');
    expect(program[2]).toBe('document.title = "<\\/script>";');
  });

  it('names no address outside', async () => {
    expect(await clientFile(PARTS)).not.toMatch(/(?:src|href)="(?!data:)/);
  });
});
