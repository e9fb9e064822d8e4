/** The page of alarms: every state of an alarm's life, what an officer does with it, and what is told afterwards. */
import type { Page } from 'playwright-core';
import { beforeAll, expect, test } from 'vitest';
import { type RunningPost, runServer } from '../support/run-server.ts';
import { CLEAN, postPackets, sample } from '../support/sample-packets.ts';
import { graveFindings, readable, sees, useBrowser } from './support/browser.ts';

const browser = useBrowser();
let post: RunningPost;
let token: string;
beforeAll(async () => {
  post = await runServer();
  token = await post.token('R1');
  const commander = await post.staff('commander');
  const open = { id: 'x', type: 'incident-open', name: 'Cold store', exercise: true };
  expect((await commander.send('POST', '/api/v1/commands', open)).status).toBe(200);
});

const co = (value: number) => ({ readings: { ...CLEAN, co: { value, unit: 'ppm' } } });
const give = (monitor: string, seq: number, over: Record<string, unknown>) =>
  postPackets(post, token, sample(monitor, seq, over));
const cardOf = (page: Page, words: string | RegExp) => page.locator('article.alarm').filter({ hasText: words });
/** Leaves the list, so that it sorts itself. */
const leave = (page: Page) => page.locator('h1').click();

test('shelved with minutes and a reason, in sight everywhere, unshelved, and it waits again; the history tells it', async () => {
  await give('S-1', 1, co(40)); // NIOSH REL 35 ppm: caution
  const page = await browser.open(post, { as: 'officer', path: '/alarms' });
  const card = cardOf(page, 'S-1');
  await card.getByRole('button', { name: /^More/ }).click();
  await card.getByRole('button', { name: 'Shelve' }).click();
  const form = card.getByRole('form', { name: 'Shelve' });
  await form.getByLabel(/^Minutes/).fill('7');
  await form.getByLabel(/^Why/).fill('engine of the truck');
  await form.getByRole('button', { name: /confirm/i }).click();
  await card
    .filter({ hasText: /shelved by officer-1, [\d:]{8}, until [\d:]{8}: “engine of the truck”, ends in \d/ })
    .waitFor();
  await leave(page);
  await sees(page, 'section.shelved', /Shelved 1[\s\S]*S-1/);
  await sees(page, '.summary .standing', /1 shelved until \d\d:\d\d, ends in \d/);

  const board = await browser.open(post, { as: 'viewer' });
  await sees(board, '.summary .standing', /1 shelved/);
  await sees(board, 'tr.row', /S-1[\s\S]*shelved until \d\d:\d\d/);

  await card.getByRole('button', { name: 'Unshelve' }).click();
  await leave(page);
  await sees(page, 'section.waiting', 'S-1');
  await page.locator('.summary .standing').filter({ hasText: 'shelved' }).waitFor({ state: 'detached' });
  const told = page.locator('section.history li').filter({ hasText: 'S-1' });
  await told.first().filter({ hasText: 'taken off the shelf by officer-1, waits for an answer' }).waitFor();
  expect(await told.count()).toBe(3);
  await told.nth(1).filter({ hasText: 'shelved by officer-1: “engine of the truck”' }).waitFor();
  await told.nth(2).filter({ hasText: 'raised' }).waitFor();
});

test('what is protected says why it is not shelved, and the post refuses it as well', async () => {
  await give('S-2', 1, { readings: { ...CLEAN, lel: { value: 30, unit: '%LEL' } } });
  const page = await browser.open(post, { as: 'officer', path: '/alarms' });
  const card = page.locator('article.alarm.danger').filter({ hasText: 'S-2' });
  await card.getByRole('button', { name: /^More/ }).click();
  await card.getByText('Neither shelved nor put out of service, ever').waitFor();
  expect(await card.getByRole('button', { name: /Shelve$|Out of service/ }).count()).toBe(0);
  const id = await card.getAttribute('data-alarm');
  const officer = await post.staff('officer');
  const shelve = { id: 'p1', type: 'shelve', alarm: id, minutes: 5, reason: 'x' };
  expect((await officer.send('POST', '/api/v1/commands', shelve)).body).toMatchObject({ code: 'protected' });
});

test('down is acknowledged by keys, and reset with a reason while nothing has contradicted it', async () => {
  await give('S-3', 1, { status: { motion: 'down' } });
  const page = await browser.open(post, { as: 'officer', path: '/alarms' });
  const card = cardOf(page, /wearer down/);
  await card.focus();
  await page.keyboard.press('a');
  await card.getByLabel('What was decided').waitFor();
  await page.keyboard.type('Backup goes in');
  await page.keyboard.press('Enter');
  await card.filter({ hasText: /answered by officer-1, \d\d:\d\d: “Backup goes in”/ }).waitFor();
  await card.filter({ hasText: 'now under “Answered, still there”' }).waitFor();
  expect(await card.evaluate((element) => element === document.activeElement)).toBe(true);
  await page.keyboard.press('Enter');
  await card.getByRole('button', { name: 'Reset with a reason' }).click();
  await page.keyboard.press('Enter'); // without a reason nothing is sent
  await card.getByLabel(/^How it is known/).fill('seen at the decon line');
  await page.keyboard.press('Enter');
  await card.filter({ hasText: 'over' }).waitFor();
  await leave(page);
  await card.waitFor({ state: 'detached' });
  const told = page.locator('section.history li').filter({ hasText: 'wearer down' });
  await told.first().filter({ hasText: 'reset by officer-1: “seen at the decon line”' }).waitFor();
});

test('the letter can be switched off, and stays so', async () => {
  await give('S-4', 1, co(41));
  const page = await browser.open(post, { as: 'officer', path: '/alarms' });
  const card = cardOf(page, 'S-4');
  await page.getByLabel('The letter a acknowledges').uncheck();
  await page.reload();
  await card.focus();
  await page.keyboard.press('a');
  await page.keyboard.press('Enter'); // opens the card all the same
  await card.getByRole('button', { name: 'Less' }).waitFor();
  expect(await card.getByLabel('What was decided').count()).toBe(0);
});

test('a sensor goes out of service with a reason, stays in sight, and comes back', async () => {
  await give('S-5', 1, { readings: { ...CLEAN, h2s: { value: 12, unit: 'ppm' } } });
  const page = await browser.open(post, { as: 'officer', path: '/alarms' });
  const card = cardOf(page, 'S-5');
  await card.getByRole('button', { name: /^More/ }).click();
  await card.getByRole('button', { name: 'Out of service' }).click();
  await card.locator('select[name="scope"]').selectOption('sensor');
  await card.getByLabel(/^Why/).fill('poisoned sensor');
  await card.getByRole('button', { name: /confirm/i }).click();
  await card.filter({ hasText: 'out of service: “poisoned sensor”' }).waitFor();
  await sees(page, '.summary .standing', /1 out of service/);
  const listed = page.locator('.service-list li').filter({ hasText: 'S-5 hydrogen sulfide' });
  await listed.filter({ hasText: /by officer-1, [\d:]{8}/ }).waitFor();
  await listed.getByRole('button', { name: 'Put back' }).click();
  await listed.getByLabel(/^Why/).fill('new sensor');
  await listed.getByRole('button', { name: /confirm/i }).click();
  await leave(page);
  await sees(page, 'section.waiting', 'S-5');
});

test('a viewer reads all of it and can do nothing', async () => {
  await give('S-6', 1, co(42));
  const page = await browser.open(post, { as: 'viewer', path: '/alarms' });
  const card = cardOf(page, 'S-6');
  await card.getByRole('button', { name: 'More: history' }).click();
  await card.getByText('raised').waitFor();
  const names = await page.locator('main').getByRole('button').allInnerTexts();
  expect(names.filter((name) => !/^(More: history|Less|Older ones|Sort now)$/.test(name))).toEqual([]);
  expect(await page.locator('main').getByRole('checkbox').count()).toBe(0);
  await card.focus();
  await page.keyboard.press('a');
  expect(await card.getByLabel('What was decided').count()).toBe(0);
  await sees(page, '.alarm-figures', /sounded in the last 10 min/);
  await page.getByText('What these mean').click();
  expect(await readable(page.locator('.alarm-figures'))).toMatch(
    /IEC 62682 and ISA-18.2; the standards themselves were not read/,
  );
  // The level and where it comes from stand apart from what to do.
  expect(await readable(card)).toMatch(
    /To do, by your agency’s procedure \(not yet reviewed\)[\s\S]*level: at or over 35 ppm/,
  );
});

test.each(['day', 'night'] as const)('nothing grave is found on it by axe in the look of %s', async (theme) => {
  await give('S-7', 1, co(43));
  const page = await browser.open(post, { as: 'officer', path: '/alarms', theme, bypassContentPolicy: true });
  const card = cardOf(page, 'S-7');
  await card.getByRole('button', { name: /^More/ }).click();
  await card.getByRole('button', { name: 'Shelve' }).click();
  await card.getByText('raised').waitFor();
  await page.evaluate(() => document.fonts.ready);
  expect(await graveFindings(page)).toEqual([]);
});
