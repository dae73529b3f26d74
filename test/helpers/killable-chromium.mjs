import { spawn } from 'node:child_process';
import { existsSync, readFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { chromium } from 'playwright-core';

const FLAGS = [
  '--headless=new',
  '--no-sandbox',
  '--disable-gpu',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
  '--no-first-run',
  '--remote-debugging-port=0',
];
const wait = (ms) => new Promise((resolve) => setTimeout(resolve, ms));
const port = (file) => (existsSync(file) ? readFileSync(file, 'utf8').split('\n') : []);

/** A browser that is still starting, on a busy machine, may take the connection and never answer on it: another one is answered. */
async function connect(address) {
  for (let tries = 1; ; tries++) {
    try {
      return await chromium.connectOverCDP(address, { timeout: 15_000 });
    } catch (error) {
      if (tries === 4) throw error;
    }
  }
}

/** A Chromium of our own on a profile that outlives it, so that it can be killed and opened again. */
export async function launchKillable(executable, profile) {
  const file = join(profile, 'DevToolsActivePort');
  for (const left of ['DevToolsActivePort', 'SingletonLock', 'SingletonSocket', 'SingletonCookie'])
    rmSync(join(profile, left), { force: true });
  const child = spawn(executable, [...FLAGS, '--window-size=1280,900', `--user-data-dir=${profile}`], {
    detached: true,
    stdio: 'ignore',
  });
  for (let i = 0; port(file).length < 2; i++) {
    if (i > 600) throw new Error('the browser does not start');
    await wait(100);
  }
  const browser = await connect(`http://127.0.0.1:${port(file)[0]}`);
  const [context] = browser.contexts();
  context.setDefaultTimeout(60_000);
  // What is served is what these pages get.
  await context.addInitScript(() => Object.defineProperty(Navigator.prototype, 'serviceWorker', { value: undefined }));
  const kill = () =>
    new Promise((resolve) => {
      child.once('exit', resolve);
      // The whole group at once, as when the power goes.
      process.kill(-child.pid, 'SIGKILL');
    });
  return { context, page: context.pages()[0] ?? (await context.newPage()), kill };
}
