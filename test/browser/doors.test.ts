import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { browserPages } from '../helpers/browser-pages.ts';
import { goBack } from '../helpers/kept-page.ts';
import { serveBare } from '../helpers/serve.ts';
import { tinyPiece } from '../helpers/worker-faults.ts';

const PATIENCE_MS = 120_000;

/** A program of the page's own that tries what the policy forbids. */
const PROBE = `
const tried = (run) => { try { run(); return 'ran'; } catch { return 'forbidden'; } };
window.probed = { fromText: tried(() => new Function('return 1')()), fromString: tried(() => eval('1')) };
`;

let page: Page;
const violations: string[] = [];
const tools = browserPages({
  name: 'doors',
  meddle: (path) => (path === '/probe.js' ? PROBE : null),
  demo: () => tinyPiece('Tiny'),
  context: { viewport: { width: 1280, height: 800 }, acceptDownloads: true },
  onPage: (made) => {
    page = made;
  },
});

/** What the policy forbids is told to the console, of workers too, and as an event of the page. */
async function watchPolicy(): Promise<void> {
  violations.length = 0;
  page.on('console', (message) => {
    if (/Content Security Policy|unsafe-eval/i.test(message.text())) violations.push(message.text());
  });
  await page.exposeFunction('tellViolation', (text: string) => violations.push(text));
  await page.addInitScript(() => {
    document.addEventListener('securitypolicyviolation', ({ violatedDirective, blockedURI, sample }) =>
      (window as unknown as { tellViolation(text: string): void }).tellViolation(
        `${violatedDirective}: ${blockedURI} ${sample}`,
      ),
    );
  });
}

const press = (name: string | RegExp) => page.getByRole('button', { name }).first().click({ timeout: PATIENCE_MS });
const close = async (name: string, by = 'Close') => {
  await page.getByRole('dialog', { name }).getByRole('button', { name: by, exact: true }).click();
  await page.getByRole('dialog', { name }).waitFor({ state: 'detached' });
};
const proofDone = () =>
  page
    .getByRole('region', { name: 'Proofs' })
    .getByRole('button', { name: /^Now/ })
    .getByText(/rows ·.* left dark/)
    .waitFor({ timeout: PATIENCE_MS });
async function save(name: string | RegExp): Promise<void> {
  const [file] = await Promise.all([page.waitForEvent('download', { timeout: PATIENCE_MS }), press(name)]);
  await file.path();
}

describe('the doors of the page', () => {
  test('stay shut while everything is used: nothing is asked of anyone else, nothing runs that the policy forbids', async () => {
    await watchPolicy();
    await page.goto(tools.url);
    await proofDone();

    for (const step of ['Slab', 'Coats', 'Picture', 'Passes', 'Proof', 'Hand over']) {
      await page
        .getByRole('button', { name: new RegExp(`^${step}`) })
        .first()
        .click();
      await page.locator('.step-body').waitFor();
    }
    await press(/^For the bench/);
    await save(/^Save the bench sheet, PDF/);
    await goBack(page);
    await press(/^For the client/);
    await press('Open the mock-up');
    await page.locator('.mockup-view canvas[data-drawn]').waitFor({ timeout: PATIENCE_MS });
    await close('Mock-up for the client');
    await goBack(page);
    await press(/^Watch it burn/);
    await press('Open the burn');
    await page.getByRole('dialog', { name: 'Watch it burn' }).waitFor();
    await page.keyboard.press('Escape');

    await page
      .getByRole('button', { name: /^Picture/ })
      .first()
      .click();
    await press(/mask…$/i);
    await page.getByRole('dialog', { name: 'Mask' }).getByRole('application').waitFor();
    await page.keyboard.press('Escape');
    await press('Grid…');
    await page.getByRole('dialog', { name: 'Grid of proofs' }).waitFor();
    await page.keyboard.press('Escape');
    await press('Pin');
    await press('Table…');
    await save('Save as one picture');

    const own = new URL(tools.url).origin;
    const others = tools.requests.filter((url) => !/^(blob|data):/.test(url) && new URL(url).origin !== own);
    expect(others).toEqual([]);
    expect(violations).toEqual([]);
    expect(tools.faults).toEqual([]);
  });

  test('are shut by the page’s own head, whoever serves it, and by what is sent with each file', async () => {
    const { headers } = await fetch(tools.url);
    expect(headers.get('content-security-policy')).toContain("frame-ancestors 'none'");
    expect(headers.get('content-security-policy')).not.toMatch(/unsafe-inline|unsafe-eval/);
    expect(headers.get('x-content-type-options')).toBe('nosniff');
    expect(headers.get('referrer-policy')).toBe('no-referrer');
    const html = await (await fetch(tools.url)).text();
    expect(html).toMatch(
      /<meta http-equiv="Content-Security-Policy" content="default-src &#39;none&#39;; script-src &#39;self&#39;;/,
    );
    expect(html).not.toMatch(/<script(?![^>]*\bsrc=)/);

    await watchPolicy();
    await page.goto(tools.url);
    await page.evaluate(() => {
      const inline = document.createElement('script');
      inline.textContent = 'window.inlineRan = true';
      document.head.append(inline);
      const probe = document.createElement('script');
      probe.src = '/probe.js';
      document.head.append(probe);
    });
    await page.waitForFunction(() => 'probed' in window);
    expect(
      await page.evaluate(() => ({
        probed: (window as unknown as { probed: unknown }).probed,
        inline: 'inlineRan' in window,
      })),
    ).toMatchObject({
      probed: { fromText: 'forbidden', fromString: 'forbidden' },
      inline: false,
    });
    await page.evaluate(() => fetch('https://example.invalid/').catch(() => {}));
    await expect.poll(() => violations.some((text) => text.startsWith('connect-src'))).toBe(true);
  });

  test('let the page work where nothing is sent but the files: its workers then have no policy to be stopped by', async () => {
    const bare = await serveBare(await tinyPiece('Tiny'));
    try {
      await watchPolicy();
      await page.goto(bare.url);
      await proofDone();
      expect(violations).toEqual([]);
      expect(tools.faults).toEqual([]);
    } finally {
      await page.goto('about:blank');
      await bare.close();
    }
  });
});
