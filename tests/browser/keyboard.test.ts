/** Everything by keyboard alone, the look that is remembered, and a table that holds still under a hand. */
import type { Page } from 'playwright-core';
import { beforeAll, expect, test } from 'vitest';
import { type RunningPost, runServer } from '../support/run-server.ts';
import { CLEAN, postPackets, sample } from '../support/sample-packets.ts';
import { sees, useBrowser } from './support/browser.ts';

const browser = useBrowser();
let post: RunningPost;
let token: string;
beforeAll(async () => {
  post = await runServer();
  token = await post.token('R1');
  const readings = { ...CLEAN, o2: { value: 18.5, unit: '%vol' } };
  await postPackets(post, token, [sample('M-07', 1, { readings }), sample('M-08', 1), sample('M-09', 1)]);
});

/** Presses Tab until the focused element matches; fails after a hundred. */
async function tabTo(page: Page, selector: string): Promise<void> {
  for (let i = 0; i < 100; i += 1) {
    await page.keyboard.press('Tab');
    const there = await page.evaluate((wanted) => document.activeElement?.matches(wanted) ?? false, selector);
    if (there) return;
  }
  throw new Error(`Tab never reached ${selector}`);
}

/** Width of the outline around what has the focus, CSS px. */
function outline(page: Page): Promise<number> {
  return page.evaluate(() => {
    const at = document.activeElement;
    const style = at ? getComputedStyle(at) : null;
    return style && style.outlineStyle !== 'none' ? Number.parseFloat(style.outlineWidth) : 0;
  });
}

test('by keyboard: to a row, into its page, back, and an alarm answered', async () => {
  const page = await browser.open(post, { as: 'officer' });
  await sees(page, 'tr.row', 'M-08');
  await tabTo(page, 'a.name-link[href="/monitor/M-08"]');
  expect(await outline(page)).toBeGreaterThanOrEqual(2);
  await page.keyboard.press('Enter');
  await sees(page, '.monitor-head', 'M-08');
  await tabTo(page, 'a.nav-link[href="/"]');
  await page.keyboard.press('Enter');
  await sees(page, 'tr.row', 'M-08');

  await tabTo(page, 'article.alarm.danger .first-step');
  expect(await outline(page)).toBeGreaterThanOrEqual(2);
  await page.keyboard.press('Enter');
  await page.locator('.second-step input:focus').waitFor();
  await page.keyboard.type('called out');
  await tabTo(page, 'button.confirm');
  expect(await outline(page)).toBeGreaterThanOrEqual(2);
  await page.keyboard.press('Enter');
  await sees(page, 'article.alarm.answered', /answered by officer-1.*“called out”/);
  // Whoever works by keyboard is not thrown to the top of the page.
  expect(await page.evaluate(() => document.activeElement?.closest('aside.alarms') !== null)).toBe(true);
});

test('the look that was chosen is there after the next load', async () => {
  const page = await browser.open(post, { as: 'viewer' });
  await sees(page, 'tr.row', 'M-08');
  const ground = () => page.evaluate(() => getComputedStyle(document.body).backgroundColor);
  const day = await ground();
  await page.getByRole('button', { name: 'Night view' }).click();
  const night = await ground();
  expect(night).not.toBe(day);
  await page.reload();
  await sees(page, 'tr.row', 'M-08');
  expect(await ground()).toBe(night);
  await page.getByRole('button', { name: 'Daylight view' }).waitFor();
});

test('rows keep their place while a pointer is in the table', async () => {
  const page = await browser.open(post, { as: 'officer' });
  const row = page.locator('tr.row').filter({ hasText: 'M-09' });
  await row.waitFor();
  const names = () => page.locator('tr.row .name').allInnerTexts();
  const before = await names();
  expect(before.indexOf('M-09')).toBeGreaterThan(0);
  await row.hover();
  await postPackets(post, token, sample('M-09', 2, { readings: { ...CLEAN, lel: { value: 60, unit: '%LEL' } } }));
  await row.locator('td.cell.danger').waitFor();
  await sees(page, '.hold-note', /would move/);
  expect(await names()).toEqual(before);
  await page.mouse.move(5, 5);
  await expect.poll(names).not.toEqual(before);
});
