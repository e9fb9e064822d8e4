/**
 * `npm run screenshot [-- FOLDER]`: plays the demonstration until somebody is in danger and somebody is silent, and
 * takes pictures of its pages. FOLDER gets all of them (board, alarms, map, monitor; three sizes; daylight and night). Without
 * it, only docs/board.png is written, the one that the documentation shows.
 */
import { spawn } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { chromium } from 'playwright-core';
import { findBrowser } from '../../server/boot/browser.mjs';
import { prepare } from '../../server/boot/prepare.mjs';

const PROGRAM = fileURLToPath(new URL('../../dist/server/cli/main.js', import.meta.url));
const BOARD = fileURLToPath(new URL('../../docs/board.png', import.meta.url));
const ARGS = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
];
const SIZES = [
  [1920, 1080],
  [1280, 800],
  [820, 1180],
];
const PAGES = [
  ['board', '/', 'tr.row'],
  ['alarms', '/alarms', '.alarm-section article'],
  ['map', '/map', '.map-row'],
  ['monitor', '/monitor/M-07', '.channel-summary'],
];
/** The scenario needs about three minutes until a team is in danger and a relay has gone quiet. */
const PLAYED_WITHIN_MS = 300_000;

const folder = process.argv[2];
const executablePath = findBrowser();
if (executablePath === null) process.exit(1);
prepare();
const dataDir = mkdtempSync(join(tmpdir(), 'upwind-pictures-'));
// The scenario's place is in this zone.
const env = {
  ...process.env,
  HOST: '127.0.0.1',
  PORT: '0',
  DATA_DIR: dataDir,
  LOG_LEVEL: 'warn',
  TZ: 'America/Chicago',
};
const server = spawn(process.execPath, [PROGRAM, 'demo'], { env, stdio: ['ignore', 'pipe', 'inherit'] });
const browser = await chromium.launch({ executablePath, args: ARGS });
try {
  const url = await served(server);
  console.error(`the demonstration plays at ${url}; the pictures come in about three minutes`);
  await take(url, { path: '/', shown: 'tr.row', size: [1600, 900], theme: 'day', file: BOARD, patient: true });
  if (folder !== undefined) {
    mkdirSync(folder, { recursive: true });
    for (const theme of ['day', 'night']) {
      for (const size of SIZES) {
        for (const [name, path, shown] of PAGES) {
          const file = resolve(folder, `${name}-${size.join('x')}-${theme}.png`);
          await take(url, { path, shown, size, theme, file, patient: false });
        }
      }
    }
  }
} finally {
  await browser.close();
  const ended = new Promise((done) => server.once('close', done));
  server.kill('SIGTERM');
  await ended;
  rmSync(dataDir, { recursive: true, force: true });
}

async function served(child) {
  let said = '';
  for await (const part of child.stdout.setEncoding('utf8')) {
    said += part;
    const url = /serving at (\S+)/.exec(said)?.[1];
    if (url !== undefined) return url;
  }
  throw new Error('the demonstration ended before it served');
}

async function take(url, { path, shown, size: [width, height], theme, file, patient }) {
  const context = await browser.newContext({ viewport: { width, height } });
  await context.addInitScript((look) => localStorage.setItem('theme', look), theme);
  const page = await context.newPage();
  await page.goto(url);
  await page.getByRole('button', { name: /^Act as commander/ }).click();
  await page.locator('.who-here').waitFor({ state: 'attached' });
  await page.goto(`${url}${path}`);
  await page.locator(shown).first().waitFor();
  if (patient) {
    const played = { timeout: PLAYED_WITHIN_MS };
    await page.locator('td.cell.danger').first().waitFor(played);
    await page.locator('td.cell.caution').first().waitFor(played);
    await page
      .locator('.summary .item')
      .filter({ hasText: /[1-9] silent/ })
      .waitFor(played);
  }
  await page.evaluate(() => document.fonts.ready);
  // Two paints: fonts are in place, and the map has drawn what it knows.
  await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
  await page.screenshot({ path: file });
  await context.close();
  console.error(file);
}
