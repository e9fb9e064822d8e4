/** The desk against a real post: an exercise from opening to closing, monitors, zones, notes, wall screens, roles. */
import type { Locator, Page } from 'playwright-core';
import { beforeAll, describe, expect, test, vi } from 'vitest';
import { type RunningPost, runServer, until } from '../support/run-server.ts';
import { postPackets, sample } from '../support/sample-packets.ts';
import { graveFindings, readable, SERVER_GONE, sees, useBrowser } from './support/browser.ts';

const browser = useBrowser();
// Whole stories with two or three pages each: longer than the usual limit allows on a busy machine.
vi.setConfig({ testTimeout: 60_000 });

async function heardPost(...ids: string[]): Promise<RunningPost> {
  const post = await runServer();
  const token = await post.token('R1');
  await postPackets(
    post,
    token,
    ids.map((id) => sample(id, 1)),
  );
  return post;
}

type Board = {
  incident: { name: string; zone: string } | null;
  people: { name: string; zone?: string; monitor?: string }[];
};
async function board(post: RunningPost): Promise<Board> {
  const viewer = await post.staff('viewer');
  return (await viewer.send('GET', '/api/v1/board')).body as Board;
}

const part = (page: Page, name: string) => page.getByRole('region', { name, exact: true });
const line = (page: Page, id: string) =>
  page.locator('tr.desk-monitor').filter({ has: page.getByRole('rowheader', { name: id }) });
const says = (place: Locator, words: string | RegExp) =>
  place.locator('.desk-said').filter({ hasText: words }).waitFor();

async function handOver(page: Page, id: string, callSign: string, team: string): Promise<void> {
  const row = line(page, id);
  await row.getByLabel('Call sign or place').fill(callSign);
  await row.getByLabel('Team').fill(team);
  await row.getByLabel('Role').selectOption('entry');
  await row.getByRole('button', { name: 'Hand over' }).click();
  await says(row, `Done and recorded: ${id} is handed to ${callSign}.`);
}

/** Commands that the page sent, as they left it. */
function commandsOf(page: Page): { id: string; type: string }[] {
  const sent: { id: string; type: string }[] = [];
  page.on('request', (request) => {
    if (request.url().endsWith('/api/v1/commands')) sent.push(request.postDataJSON() as { id: string; type: string });
  });
  return sent;
}

test('a commander opens an exercise, closes it in two steps with a reason, and is told each time', async () => {
  const post = await heardPost('M-07');
  const page = await browser.open(post, { as: 'commander' });
  await page.getByRole('link', { name: 'Desk' }).click();
  const incident = part(page, 'Incident');
  await incident.getByText('No incident is open').waitFor();
  await incident.getByRole('radio', { name: 'Exercise' }).check();
  await incident.getByLabel('Name').fill('Tank farm drill');
  await incident.getByLabel('Times shown in').fill('Mars/Olympus');
  await incident.getByRole('button', { name: 'Open', exact: true }).click();
  await incident.getByText('No time zone is called “Mars/Olympus”.').waitFor();
  expect((await board(post)).incident).toBeNull();
  await incident.getByLabel('Times shown in').fill('America/Chicago');
  await incident.getByRole('button', { name: 'Open', exact: true }).click();
  await says(incident, 'Done and recorded: the exercise “Tank farm drill” is open.');
  await incident.getByText('Exercise: Tank farm drill').waitFor();
  expect(await readable(incident)).toMatch(
    /Open since \d\d:\d\d:\d\d .*by commander-1\. Times are shown in America\/Chicago/,
  );
  expect((await board(post)).incident).toMatchObject({ name: 'Tank farm drill', zone: 'America/Chicago' });

  await handOver(page, 'M-07', 'E1-A', 'Entry 1');
  await page.getByRole('group', { name: 'Zone of E1-A' }).getByRole('button', { name: 'hot' }).click();
  const first = incident.getByRole('button', { name: 'Close this exercise…' });
  const firstAt = await first.boundingBox();
  await first.click();
  await incident.getByText('Not in the cold zone, as last told: E1-A (hot).').waitFor();
  const confirm = incident.getByRole('button', { name: /^Confirm: close/ });
  const confirmAt = await confirm.boundingBox();
  // A second press at the same place meets nothing that closes.
  const meets =
    firstAt && confirmAt && firstAt.x + firstAt.width > confirmAt.x && firstAt.y + firstAt.height > confirmAt.y;
  expect(meets).toBe(false);
  await confirm.click(); // without a reason
  expect((await board(post)).incident).not.toBeNull();
  await incident.getByLabel('Why it is closed').fill('drill over');
  await confirm.click();
  await says(incident, 'Done and recorded: “Tank farm drill” is closed.');
  await incident.getByText('No incident is open').waitFor();
  expect(await page.evaluate(() => document.activeElement?.id)).toBe('desk-incident');
  expect((await board(post)).incident).toBeNull();
});

test('monitors are handed over and back, also one that nobody heard; a wearer past the control line asks twice', async () => {
  const post = await heardPost('M-07', 'M-08');
  const page = await browser.open(post, { as: 'entry', path: '/desk' });
  const sent = commandsOf(page);
  await handOver(page, 'M-07', 'E1-A', 'Entry 1');
  await sees(page, 'tr.desk-monitor', /M-07[\s\S]*E1-A, Entry 1, entry[\s\S]*in the cold zone/);

  await line(page, 'M-08').getByLabel('Call sign or place').fill('E1-A');
  await line(page, 'M-08').getByText('E1-A has M-07 now: it counts as handed back.').waitFor();
  await line(page, 'M-08').getByLabel('Call sign or place').fill('');

  const typed = page.getByRole('form', { name: 'Hand over a monitor by its id' });
  await typed.getByLabel('Monitor id').fill('M-99');
  await typed.getByLabel('Call sign or place').fill('North gate');
  await typed.getByLabel('Role').selectOption('perimeter');
  await typed.getByRole('button', { name: 'Hand over' }).click();
  await sees(page, 'tr.desk-monitor', /M-99[\s\S]*never heard[\s\S]*North gate, perimeter/);

  const zones = page.getByRole('group', { name: 'Zone of E1-A' });
  await zones.getByRole('button', { name: 'hot' }).click();
  await zones.locator('[aria-pressed="true"]').filter({ hasText: 'hot' }).waitFor();
  expect(await zones.locator('[aria-pressed="true"]').count()).toBe(1);
  await sees(page, '.desk-people li', 'Done and recorded: E1-A is in the hot zone.');

  await line(page, 'M-07').getByRole('button', { name: 'Hand back' }).click();
  await line(page, 'M-07').getByText('E1-A is in the hot zone, as last told.').waitFor();
  expect((await board(post)).people.find((person) => person.name === 'E1-A')?.monitor).toBe('M-07');
  await line(page, 'M-07').getByRole('button', { name: 'Confirm: E1-A hands it back' }).click();
  await says(line(page, 'M-07'), 'M-07 is handed back by E1-A.');
  await sees(page, 'tr.desk-monitor', /M-07[\s\S]*nobody has it/);
  await line(page, 'M-99').getByRole('button', { name: 'Hand back' }).click(); // cold: at once
  await line(page, 'M-99').waitFor({ state: 'detached' });
  expect(new Set(sent.map((command) => command.id)).size).toBe(sent.length);
  expect(sent.map((command) => command.type)).toEqual(['assign', 'assign', 'entry', 'assign', 'assign']);
});

test('a double press is one command; without an answer, or without a record, it says so and goes again under its id', async () => {
  const post = await heardPost();
  const page = await browser.open(post, {
    as: 'entry',
    path: '/desk',
    expects: [...SERVER_GONE, /net::ERR_FAILED/, /status of 503/],
  });
  const sent = commandsOf(page);
  const note = part(page, 'Note for the record');
  const field = note.getByLabel('What happened, who said it');
  const put = note.getByRole('button', { name: 'Put it on record' });
  await field.fill('Wind has turned to north-west');
  await put.dblclick();
  await says(note, 'Done and recorded: “Wind has turned to north-west”');
  expect(await field.inputValue()).toBe('');
  expect(sent).toHaveLength(1);

  await page.route('**/api/v1/commands', (route) => route.abort());
  await field.fill('Gate closed');
  await put.click();
  await says(note, /did not answer: not known to be done/);
  await page.unroute('**/api/v1/commands');
  const error = { code: 'full', message: 'The disk is full: nothing is being recorded' };
  await page.route('**/api/v1/commands', (route) => route.fulfill({ status: 503, json: { error } }));
  await put.click();
  await says(note, /^Not recorded and not done\. The disk is full/);
  expect(await field.inputValue()).toBe('Gate closed');
  await page.unroute('**/api/v1/commands');
  await put.click();
  await says(note, 'Done and recorded: “Gate closed”');
  expect(sent).toHaveLength(4);
  expect(new Set(sent.slice(1).map((command) => command.id)).size).toBe(1);
});

test('a wall screen is paired by the code that is shown, listed, and ended in two steps', async () => {
  const post = await heardPost('M-07');
  const page = await browser.open(post, { as: 'officer', path: '/desk' });
  const walls = part(page, 'Wall screens');
  await walls.getByText('No screen is paired.').waitFor();
  await walls.getByLabel('Name of the screen').fill('Command tent');
  await walls.getByRole('button', { name: 'Make a pairing code' }).click();
  const code = await readable(walls.locator('.desk-code-letters'));
  expect(code.replace(' ', '')).toMatch(/^[A-Z0-9]{8}$/);
  await walls
    .getByRole('timer')
    .filter({ hasText: /^(5:00|4:5\d)$/ })
    .waitFor();
  await walls
    .getByRole('timer')
    .filter({ hasText: /^4:5[0-8]$/ })
    .waitFor();

  const screen = await browser.open(post, { path: '/wall', expects: [/HTTP Authentication failed/] });
  await screen.getByLabel('Pairing code').fill(code);
  await screen.getByRole('button', { name: 'Pair' }).click();
  await sees(screen, 'tr.row', 'M-07');
  await says(walls, 'Paired: “Command tent” shows the board now.');
  await walls.locator('.desk-code').waitFor({ state: 'detached' });
  await walls.getByRole('button', { name: 'End “Command tent”…' }).click();
  await walls.getByRole('button', { name: 'Confirm: end “Command tent”' }).click();
  await says(walls, '“Command tent” is no longer paired and shows nothing.');
  await walls.getByText('No screen is paired.').waitFor();
  await screen.getByLabel('Pairing code').waitFor();
});

test('each role finds what it may do, and a viewer the state alone', async () => {
  const post = await heardPost('M-07');
  const entry = await post.staff('entry');
  await entry.send('POST', '/api/v1/commands', { id: 'a', type: 'assign', monitor: 'M-07', entrant: 'E1-A' });

  const viewer = await browser.open(post, { as: 'viewer', path: '/desk' });
  await sees(viewer, '.desk-people', /E1-A[\s\S]*cold zone/);
  await sees(viewer, '.desk-head', /looking only/);
  expect(await viewer.locator('main section').locator('button, input, form, select, textarea').count()).toBe(0);
  expect(await viewer.getByRole('link', { name: 'Desk' }).count()).toBe(0);

  const page = await browser.open(post, { as: 'entry', path: '/desk' });
  await sees(page, '#desk-incident ~ p', 'Opening and closing takes a commander; you are logged in as entry.');
  expect(await page.getByRole('region').filter({ hasText: 'Wall screens' }).count()).toBe(0);
  await part(page, 'Note for the record').waitFor();
});

test('while the post is gone nobody is shown in a zone, and nothing but a note is sent', async () => {
  const post = await heardPost('M-07');
  const entry = await post.staff('entry');
  await entry.send('POST', '/api/v1/commands', { id: 'a', type: 'assign', monitor: 'M-07', entrant: 'E1-A' });
  const page = await browser.open(post, { as: 'entry', path: '/desk', expects: SERVER_GONE });
  const sent = commandsOf(page);
  const zones = page.getByRole('group', { name: 'Zone of E1-A' });
  await zones.locator('[aria-pressed="true"]').waitFor();
  await post.kill('SIGKILL');
  await sees(page, '.desk-covered', /Not live/);
  expect(await zones.locator('[aria-pressed="true"]').count()).toBe(0);
  await zones.getByRole('button', { name: 'hot' }).click({ force: true });
  expect(await readable(page.locator('tr.desk-monitor'))).not.toContain('E1-A');
  expect(sent).toEqual([]);
});

test('by keyboard: handed over, moved and handed back without losing the place', async () => {
  const post = await heardPost('M-07');
  const page = await browser.open(post, { as: 'entry', path: '/desk' });
  await line(page, 'M-07').getByLabel('Call sign or place').focus();
  await page.keyboard.type('E1-A');
  await page.keyboard.press('Enter');
  await until('the row has the focus', () =>
    page.evaluate(
      () => document.activeElement?.textContent === 'Change' && document.activeElement.closest('tr') !== null,
    ),
  );
  const hot = page.getByRole('group', { name: 'Zone of E1-A' }).getByRole('button', { name: 'hot' });
  await hot.focus();
  await page.keyboard.press('Space');
  await sees(page, '.desk-people li', /is in the hot zone/);
  expect(await hot.evaluate((button) => button === document.activeElement)).toBe(true);
});

describe('axe-core finds nothing serious, and nothing is wider than the page', () => {
  let post: RunningPost;
  beforeAll(async () => {
    post = await heardPost('M-07', 'M-08', 'M-09');
    const commander = await post.staff('commander');
    const send = (id: string, body: object) => commander.send('POST', '/api/v1/commands', { id, ...body });
    await send('o', { type: 'incident-open', name: 'Lot 9', exercise: true });
    await send('a', { type: 'assign', monitor: 'M-07', entrant: 'E1-A', team: 'Entry 1', role: 'entry' });
    await send('b', { type: 'assign', monitor: 'M-09', entrant: 'North gate', role: 'perimeter' });
    await send('z', { type: 'entry', entrant: 'E1-A', zone: 'hot' });
  }, 30_000);
  const SIZES = [
    { width: 1920, height: 1080 },
    { width: 1280, height: 800 },
    { width: 820, height: 1180 },
  ];
  test.each(SIZES.flatMap((size) => (['day', 'night'] as const).map((theme) => ({ ...size, theme }))))(
    '$width × $height, $theme',
    async ({ width, height, theme }) => {
      const page = await browser.open(post, {
        as: 'commander',
        path: '/desk',
        theme,
        size: { width, height },
        bypassContentPolicy: true,
      });
      await page.getByRole('button', { name: 'Close this exercise…' }).click();
      await page.getByRole('button', { name: 'Make a pairing code' }).click();
      await line(page, 'M-07').getByRole('button', { name: 'Hand back' }).click();
      await page.locator('.desk-code-letters').waitFor();
      await page.evaluate(() => document.fonts.ready);
      expect(await graveFindings(page)).toEqual([]);
      expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)).toBeLessThanOrEqual(0);
      const small = await page
        .locator('main')
        .getByRole('button')
        .evaluateAll((all) =>
          all.filter((one) => one.getBoundingClientRect().height < 48).map((one) => one.textContent),
        );
      expect(small).toEqual([]);
    },
  );
});
