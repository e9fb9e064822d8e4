/** An alarm from its first packet to its reset, on two screens. */
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
});

async function assign(monitor: string, entrant: string): Promise<void> {
  const officer = await post.staff('officer');
  const command = { id: `assign ${monitor}`, type: 'assign', monitor, entrant, team: 'Entry 1', role: 'entry' };
  expect((await officer.send('POST', '/api/v1/commands', command)).status).toBe(200);
}

test('an alarm appears everywhere at once, is answered with a decision, and a second screen shows who', async () => {
  await postPackets(post, token, sample('M-07', 1));
  await assign('M-07', 'E1-A');
  const page = await browser.open(post, { as: 'officer' });
  const second = await browser.open(post, { as: 'viewer' });
  await sees(page, 'tr.row', 'E1-A');
  await sees(second, 'tr.row', 'E1-A');
  await sees(page, '.summary .item', /^0 wait/);

  // Below 19.5 %vol: 29 CFR 1910.146(b).
  await postPackets(post, token, sample('M-07', 2, { readings: { ...CLEAN, o2: { value: 18.9, unit: '%vol' } } }));
  const cell = page.locator('td.cell.danger');
  await cell
    .filter({ hasText: '18.9' })
    .filter({ hasText: /danger/i })
    .waitFor();
  expect(await cell.locator('svg.shape').count()).toBe(1);
  expect(await cell.evaluate((element) => getComputedStyle(element).backgroundColor)).toMatch(/rgb\(1[5-9]\d, /);
  await sees(page, '.summary .item.danger', /2 wait[\s\S]*1 danger, 1 caution/);
  const card = page.locator('article.alarm.danger').filter({ hasText: 'oxygen' });
  await card.filter({ hasText: '29 CFR 1910.146' }).filter({ hasText: 'your agency’s procedure' }).waitFor();
  await page
    .locator('[aria-live="assertive"]')
    .filter({ hasText: /danger: E1-A oxygen/ })
    .waitFor({ state: 'attached' });

  await card.getByRole('button', { name: 'Acknowledge' }).click();
  await card.getByLabel('What was decided').fill('E1 comes out');
  await card.getByRole('button', { name: /confirm/i }).click();
  const answered = (screen: typeof page) =>
    screen
      .locator('article.alarm.answered')
      .filter({ hasText: /answered by officer-1, \d\d:\d\d: “E1 comes out”/ })
      .waitFor();
  await answered(page);
  await answered(second);
  await sees(second, '.summary .item', /1 waits[\s\S]*1 caution/);
});

test('a viewer has no way to answer, and the post would refuse it', async () => {
  const readings = { ...CLEAN, lel: { value: 30, unit: '%LEL' } };
  await postPackets(post, token, sample('M-08', 1, { readings }));
  const page = await browser.open(post, { as: 'viewer' });
  await sees(page, 'article.alarm.waits', '%LEL');
  expect(await page.locator('article.alarm').getByRole('button').count()).toBe(0);
  const viewer = await post.staff('viewer');
  const command = { id: 'v1', type: 'acknowledge', alarm: 'x', occurrence: 1, seenCursor: 1 };
  expect((await viewer.send('POST', '/api/v1/commands', command)).status).toBe(403);
});

test('down is held until it is answered and reset', async () => {
  await postPackets(post, token, sample('M-11', 1, { status: { motion: 'moving' } }));
  await assign('M-11', 'E1-B');
  await postPackets(post, token, sample('M-11', 2, { status: { motion: 'down' } }));
  const page = await browser.open(post, { as: 'officer' });
  await sees(page, '.summary .item.danger', /E1-B DOWN/);
  await sees(page, 'tr.row .motion-word.danger', 'DOWN');
  const card = page.locator('article.alarm').filter({ hasText: 'wearer down' });
  await card.waitFor();

  await postPackets(post, token, sample('M-11', 3, { status: { motion: 'moving' } }));
  await card.filter({ hasText: /held until it is answered and reset/ }).waitFor();
  await card.getByRole('button', { name: 'Acknowledge' }).click();
  await card.getByRole('button', { name: /confirm/i }).click();
  await card.filter({ hasText: 'held until it is reset' }).waitFor();
  await card.getByRole('button', { name: 'Reset' }).click();
  await card.getByRole('button', { name: /confirm/i }).click();
  // The card holds still under the pointer; it goes when the pointer does.
  await page.mouse.move(10, 10);
  await card.waitFor({ state: 'detached' });
});

test('an answer to an alarm that got worse meanwhile is not taken', async () => {
  const at = (seq: number, value: number) =>
    postPackets(post, token, sample('M-12', seq, { readings: { ...CLEAN, co: { value, unit: 'ppm' } } }));
  await at(1, 40);
  const page = await browser.open(post, { as: 'officer' });
  const card = page.locator('article.alarm').filter({ hasText: 'M-12' });
  await card.getByRole('button', { name: 'Acknowledge' }).click();
  await at(2, 250); // NIOSH: ceiling 200 ppm
  await card.filter({ hasText: /250/ }).first().waitFor();
  await card
    .first()
    .getByRole('button', { name: /confirm/i })
    .click();
  await sees(page, '.outcome', /got worse since you saw it|already/i);
});
