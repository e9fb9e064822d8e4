/**
 * A page that is not live says so within 3 s and covers its values within 5 (0.5 and 0.7 s more are allowed for a
 * busy machine), counted by the page's own clock from the last frame that it got.
 */

import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { runServer } from '../support/run-server.ts';
import { CLEAN, postPackets, sample } from '../support/sample-packets.ts';
import { readable, SERVER_GONE, sees, useBrowser } from './support/browser.ts';

const browser = useBrowser();
const SAID_WITHIN_MS = 3_500;
const COVERED_WITHIN_MS = 5_700;

type Marks = { lastFrameAt: number; quietAt: number | null; coveredAt: number | null };

/** Notes when the last frame came and when the page said what. */
async function watchFrames(page: Page): Promise<void> {
  await page.addInitScript(() => {
    const marks: Marks = { lastFrameAt: 0, quietAt: null, coveredAt: null };
    Reflect.set(window, 'marks', marks);
    const Native = WebSocket;
    window.WebSocket = class extends Native {
      constructor(url: string | URL, protocols?: string | string[]) {
        super(url, protocols);
        this.addEventListener('message', () => {
          Object.assign(marks, { lastFrameAt: performance.now(), quietAt: null, coveredAt: null });
        });
      }
    };
    const look = () => {
      if (document.querySelector('.feed-notice.quiet')) marks.quietAt ??= performance.now();
      if (document.querySelector('.feed-notice.covered')) marks.coveredAt ??= performance.now();
    };
    new MutationObserver(look).observe(document, { childList: true, subtree: true, attributes: true });
  });
}

function marksOf(page: Page): Promise<Marks> {
  return page.evaluate(() => Reflect.get(window, 'marks'));
}

/**
 * Everything that can be read on the page as if it were so now, without what names things or tells the time. The past
 * on a monitor's page, where each number stands beside its own time, is left out.
 */
async function figuresOn(page: Page): Promise<string> {
  let text = await readable(page.locator('body'));
  for (const past of await page.locator('.channel-past, .monitor-journal').allInnerTexts())
    text = text.replace(past, '');
  return text.replace(/\d\d:\d\d(:\d\d)?/g, '').replace(/M-\d+|E\d-[A-Z]|Entry \d/g, '');
}

async function startWithAlarm() {
  const post = await runServer();
  const token = await post.token('R1');
  const readings = { ...CLEAN, o2: { value: 17.3, unit: '%vol' }, co: { value: 31, unit: 'ppm' } };
  const position = { lat: 44.0512, lon: -98.2114, accuracy: 6 };
  await postPackets(post, token, sample('M-07', 1, { readings, position }));
  return { post, token };
}

test.each(['/', '/map', '/monitor/M-07'])(
  'a frozen post: %s says so, covers its values, and comes back by itself',
  async (path) => {
    const { post, token } = await startWithAlarm();
    const prepare = (_: unknown, page: Page) => watchFrames(page);
    const page = await browser.open(post, { as: 'officer', path, prepare, expects: SERVER_GONE });
    await expect.poll(() => figuresOn(page), { timeout: 8_000 }).toMatch(/17\.3/);
    process.kill(post.pid, 'SIGSTOP');
    await page.locator('.feed-notice.covered').waitFor();
    const marks = await marksOf(page);
    expect((marks.quietAt ?? Number.NaN) - marks.lastFrameAt).toBeLessThan(SAID_WITHIN_MS);
    expect((marks.coveredAt ?? Number.NaN) - marks.lastFrameAt).toBeLessThan(COVERED_WITHIN_MS);
    await sees(page, '.feed-notice.covered', /NOT LIVE[\s\S]*last word from the post \d\d:\d\d:\d\d/);
    const seen = await figuresOn(page);
    expect(seen).not.toMatch(/17\.3|\b31\b/);
    expect(await page.getByRole('button', { name: 'Acknowledge' }).count()).toBe(0);

    process.kill(post.pid, 'SIGCONT');
    await page.locator('.feed-notice').waitFor({ state: 'detached', timeout: 12_000 });
    const readings = { ...CLEAN, o2: { value: 16.8, unit: '%vol' } };
    await postPackets(post, token, sample('M-07', 2, { readings }));
    await expect.poll(() => figuresOn(page), { timeout: 8_000 }).toMatch(/16\.8/);
    expect(await figuresOn(page)).not.toMatch(/\b31 ?ppm/);
  },
  50_000,
);

test('a post that ends says so at once; started again on its port and folder, the page is right without a reload', async () => {
  const { post } = await startWithAlarm();
  const page = await browser.open(post, { as: 'officer', expects: SERVER_GONE });
  await expect.poll(() => figuresOn(page), { timeout: 8_000 }).toMatch(/17\.3/);
  await page.evaluate(() => Reflect.set(window, 'sameLoad', true));
  await post.stop();
  await page.locator('.feed-notice.covered').waitFor({ timeout: COVERED_WITHIN_MS });
  await sees(page, '.feed-notice.covered', /NOT LIVE[\s\S]*shutting down/);
  expect(await figuresOn(page)).not.toMatch(/17\.3|\b31\b/);

  const again = await runServer({ dataDir: post.dataDir, env: { PORT: new URL(post.url).port } });
  const readings = { ...CLEAN, o2: { value: 16.6, unit: '%vol' } };
  await postPackets(again, await again.token('R2'), sample('M-07', 2, { readings }));
  await page.locator('.feed-notice').waitFor({ state: 'detached', timeout: 15_000 });
  await expect.poll(() => figuresOn(page), { timeout: 8_000 }).toMatch(/16\.6/);
  await sees(page, 'article.alarm.danger', /oxygen/);
  await sees(page, '.band.notice', /down|gap|not running|off/i);
  expect(await page.evaluate(() => Reflect.get(window, 'sameLoad'))).toBe(true);
}, 50_000);

test('a socket that was cut: what happened meanwhile is there afterwards', async () => {
  const { post, token } = await startWithAlarm();
  let cut = () => {};
  let open = true;
  const page = await browser.open(post, {
    as: 'officer',
    expects: SERVER_GONE,
    prepare: async (_, inPage) => {
      await inPage.routeWebSocket('**/api/v1/live**', (socket) => {
        if (!open) return void socket.close({ code: 1011, reason: 'cut' });
        const upstream = socket.connectToServer();
        cut = () => {
          open = false;
          void upstream.close();
          void socket.close({ code: 1011, reason: 'cut' });
        };
      });
    },
  });
  await expect.poll(() => figuresOn(page), { timeout: 8_000 }).toMatch(/17\.3/);
  cut();
  const readings = { ...CLEAN, h2s: { value: 60, unit: 'ppm' } };
  await postPackets(post, token, sample('M-09', 1, { readings }));
  await page.locator('.feed-notice').waitFor();
  open = true;
  await sees(page, 'article.alarm.danger', /M-09 hydrogen sulfide/);
  await page.locator('.feed-notice').waitFor({ state: 'detached' });
  await page
    .locator('[aria-live="assertive"]')
    .filter({ hasText: /M-09 hydrogen sulfide/ })
    .waitFor({ state: 'attached' });
}, 40_000);
