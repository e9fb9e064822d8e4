/** What the board says in words about readings that are no ordinary number, and about the post itself. */
import { beforeAll, expect, test } from 'vitest';
import { type RunningPost, runServer } from '../support/run-server.ts';
import { CLEAN, postPackets, sample } from '../support/sample-packets.ts';
import { readable, sees, useBrowser } from './support/browser.ts';

const browser = useBrowser();
let post: RunningPost;
let token: string;
beforeAll(async () => {
  post = await runServer();
  token = await post.token('R1');
});

const send = (packet: unknown) => postPackets(post, token, packet);

test('standby: the board says that no incident is open, and is live all the same', async () => {
  await send(sample('M-01', 1));
  const page = await browser.open(post, { as: 'viewer' });
  await sees(page, '.band.standby', 'no incident is open');
  await sees(page, 'tr.row', 'M-01');
});

test('each reason why there is no good number has its words in the cell', async () => {
  await send(
    sample('M-02', 1, {
      readings: {
        o2: { flag: 'warming' },
        lel: { flag: 'over-range' },
        co: { flag: 'fault' },
        h2s: { flag: 'off' },
        voc: { value: 250 },
        gamma: { value: 7, unit: 'uR/h' },
      },
    }),
  );
  const page = await browser.open(post, { as: 'viewer' });
  const cells = page.locator('tr.row').filter({ hasText: 'M-02' }).locator('td.cell');
  await cells.first().waitFor();
  const said = await cells.allInnerTexts();
  expect(said[0]).toMatch(/warming up[\s\S]*not to be used yet/);
  expect(said[1]).toMatch(/over range[\s\S]*DANGER/i);
  expect(said[2]).toMatch(/fault/);
  expect(said[3]).toMatch(/off/);
  expect(said[4]).toMatch(/not understood[\s\S]*as sent: 250/);
  expect(said[5]).toMatch(/^7\s*µR\/h/);
  for (const text of said.slice(0, 4)) expect(text).not.toMatch(/\d/);
});

test('radiation only: one sentence across the gas cells, and gamma under its own head', async () => {
  const readings = { gamma: { value: 9, unit: 'uR/h' } };
  await send(sample('M-16', 1, { readings, status: { mode: 'radiation-only' } }));
  // A channel beyond the six stands after gamma: the sentence must not push gamma under its head.
  await send(sample('M-17', 1, { readings: { ...CLEAN, nh3: { value: 2, unit: 'ppm' } } }));
  const page = await browser.open(post, { as: 'viewer' });
  const row = page.locator('tr.row').filter({ hasText: 'M-16' });
  await row
    .locator('td.by-mode')
    .filter({ hasText: /gas is not being watched: radiation only, since \d\d:\d\d/ })
    .waitFor();
  await page.locator('thead th').filter({ hasText: 'NH3' }).waitFor();
  const head = await page.locator('thead th').filter({ hasText: 'gamma' }).boundingBox();
  const cell = await row.locator('td.cell').filter({ hasText: 'µR/h' }).boundingBox();
  expect(Math.abs((head?.x ?? 0) - (cell?.x ?? 99))).toBeLessThan(2);
});

test('a packet that cannot be taken shows on the row of its monitor', async () => {
  await send(sample('M-03', 1));
  const page = await browser.open(post, { as: 'viewer' });
  const row = page.locator('tr.row').filter({ hasText: 'M-03' });
  await row.waitFor();
  await send(sample('M-03', 1, { readings: { ...CLEAN, co: { value: 5, unit: 'ppm' } } }));
  await row.filter({ hasText: /a packet was not taken, \d\d:\d\d:\d\d/ }).waitFor();
});

test('a relay whose clock is off is named', async () => {
  const other = await post.token('North relay');
  const measuredAt = new Date(Date.now() - 3_600_000).toISOString();
  for (const seq of [1, 2, 3]) {
    const { ageMs: _, ...packet } = sample('M-04', seq);
    await postPackets(post, other, { ...packet, measuredAt, sentAt: measuredAt });
  }
  const page = await browser.open(post, { as: 'viewer' });
  await sees(page, '.summary', /North relay clock[\s\S]*slow/);
});

test('old and silent: hatched with its age, then lost in words that promise nothing', async () => {
  await send(sample('M-05', 1));
  const page = await browser.open(post, { as: 'viewer' });
  const row = page.locator('tr.row').filter({ hasText: 'M-05' });
  // Stale after 10 s, lost after 30 s, as the post counts them.
  const cell = row.locator('td.cell.old').first();
  await cell.filter({ hasText: /1[0-9] s old/ }).waitFor({ timeout: 15_000 });
  expect(await cell.evaluate((element) => getComputedStyle(element).backgroundImage)).toContain(
    'repeating-linear-gradient',
  );
  await row.filter({ hasText: /no alarm when last heard, \d+ s ago; unknown now/ }).waitFor({ timeout: 30_000 });
  await sees(page, '.summary .item', /[1-9]\d* silent/);
  await sees(page, '.summary .standing', /R1 silent 3\d s/);
  // The relay is heard again, through another monitor: nothing else of the board's head changed.
  await send(sample('M-01', 2));
  await page.locator('.summary .standing').filter({ hasText: 'R1 silent' }).waitFor({ state: 'detached' });
}, 60_000);

test('NOT BEING RECORDED stands over everything, with its reason', async () => {
  const page = await browser.open(post, {
    as: 'viewer',
    prepare: async (_, inPage) => {
      // The post as it is, but for the word that its disk is full.
      await inPage.routeWebSocket('**/api/v1/live**', (socket) => {
        socket.connectToServer().onMessage((message) => {
          const frame = JSON.parse(String(message));
          const recording = { ok: false, since: frame.at, words: 'Not being recorded: the disk is full' };
          if (frame.type === 'snapshot') frame.board.recording = recording;
          if (frame.head) frame.head.recording = recording;
          socket.send(JSON.stringify(frame));
        });
      });
    },
  });
  await sees(page, '.band.not-recorded', /NOT BEING RECORDED[\s\S]*disk is full/);
  const band = await page.locator('.band.not-recorded').boundingBox();
  expect(band?.width).toBe(1600);
  await sees(page, 'tr.row', 'M-01');
});

test('EXERCISE stands on every screen of one', async () => {
  const own = await runServer();
  const commander = await own.staff('commander');
  await commander.send('POST', '/api/v1/commands', { id: 'x1', type: 'incident-open', name: 'Lot 9', exercise: true });
  await postPackets(own, await own.token('R1'), sample('M-01', 1));
  for (const path of ['/', '/map', '/monitor/M-01', '/wall']) {
    const page = await browser.open(own, { as: 'viewer', path });
    await sees(page, '.band.exercise', /EXERCISE[\s\S]*LOT 9/i);
  }
});

test.each(['Pacific/Auckland', 'America/New_York', 'Asia/Kolkata'])(
  'a browser in %s shows the time of the incident',
  async (zone) => {
    const own = await runServer({ env: { TZ: 'America/Chicago' } });
    const page = await browser.open(own, { as: 'viewer', zone });
    await sees(page, '.summary .clock', /\d\d:\d\d:\d\d/);
    const shown = (await readable(page.locator('.summary .clock'))).match(/\d\d:\d\d/)?.[0];
    const there = new Intl.DateTimeFormat('en-GB', { timeZone: 'America/Chicago', hour: '2-digit', minute: '2-digit' });
    const near = [Date.now(), Date.now() - 60_000].map((at) => there.format(at));
    expect(near).toContain(shown);
  },
);
