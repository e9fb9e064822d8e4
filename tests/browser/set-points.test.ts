/** The page of the set-points against a real post: an officer changes a level and it counts; a viewer changes nothing. */
import { readFileSync } from 'node:fs';
import type { Locator, Page } from 'playwright-core';
import { beforeAll, describe, expect, test, vi } from 'vitest';
import { DEFAULT_TABLE } from '../../shared/alarm/default-table.ts';
import { type SetPointTable, setPointTable } from '../../shared/alarm/set-point.ts';
import { tableToText } from '../../shared/alarm/table-text.ts';
import { type Board, board } from '../../shared/protocol/board.ts';
import { type RunningPost, runServer, until } from '../support/run-server.ts';
import { CLEAN, postPackets, sample } from '../support/sample-packets.ts';
import { graveFindings, readable, SERVER_GONE, sees, useBrowser } from './support/browser.ts';

const browser = useBrowser();
// Whole stories, some with two pages: longer than the usual limit allows on a busy machine.
vi.setConfig({ testTimeout: 90_000 });

const co = (value: number) => ({ readings: { ...CLEAN, co: { value, unit: 'ppm' } } });
const gamma = (value: number) => ({ readings: { ...CLEAN, gamma: { value, unit: 'uR/h' } } });

async function heardPost(...packets: ReturnType<typeof sample>[]) {
  const post = await runServer();
  const token = await post.token('R1');
  const give = (body: unknown) => postPackets(post, token, body);
  await give(packets);
  return { post, give };
}
async function boardNow(post: RunningPost): Promise<Board> {
  return board.parse((await (await post.staff('viewer')).send('GET', '/api/v1/board')).body);
}
const button = (place: Page | Locator, name: string | RegExp) => place.getByRole('button', { name, exact: true });
const isOff = (one: Locator) => one.getAttribute('aria-disabled').then((value) => value === 'true');
const fill = (page: Page, id: string, label: string, text: string) =>
  page
    .getByRole('form', { name: `Set-point ${id}` })
    .getByRole('textbox', { name: label, exact: true })
    .fill(text);
const says = (page: Page, words: string | RegExp) => sees(page, '.desk-said', words);
const adoptButton = (page: Page) => page.getByRole('button', { name: /^Adopt “/ });
const scope = (page: Page, name: string) => page.getByRole('listitem', { name, exact: true });

test('an officer lowers a level, sees what it would do, adopts it; it alarms, is answered and returns, and is told so', async () => {
  const { post, give } = await heardPost(sample('M-07', 1, co(31)), sample('M-08', 1));
  const page = await browser.open(post, { as: 'officer' });
  await page.getByRole('link', { name: 'Set-points' }).click();
  await sees(page, '.sp-in-force', /Starting points, version 1[\s\S]*Not yet reviewed/);
  await sees(page, '.sp-line', /withdraw line[\s\S]*protected[\s\S]*at or over 25 %LEL[\s\S]*deadband 2 %LEL/);
  await sees(page, '.sp-line', /IDLH 1200 ppm[\s\S]*from memory: verify/);

  await button(page, 'Begin a draft').click();
  await button(page, 'Change co-35').click();
  await fill(page, 'co-35', 'Level', '250');
  await sees(page, '.sp-problems', /carbon monoxide, co-35, level: a caution beyond the danger of co-200/);
  expect(await isOff(button(page, 'See what it would change'))).toBe(true);
  await fill(page, 'co-35', 'Level', '30,5');
  await sees(page, '.sp-problems', /carbon monoxide, co-35, level: Write a point for decimals/);
  await fill(page, 'co-35', 'Level', '30');
  await fill(page, 'co-35', 'Delay before it returns', '0');
  await button(page, 'Done with this line').click();
  await page.getByRole('textbox', { name: 'Name', exact: true }).fill('County');
  expect(await isOff(adoptButton(page))).toBe(true);

  await button(page, 'See what it would change').click();
  await sees(
    page,
    '.sp-preview',
    /1 alarm would come at once[\s\S]*CAUTION M-07: carbon monoxide 31 ppm: at or over 30/,
  );
  expect((await boardNow(post)).alarms).toEqual([]); // it was only looked at
  // Whatever is changed after the look has to be looked at again.
  await page.getByRole('textbox', { name: 'Version', exact: true }).fill('7');
  await sees(page, '.sp-caution', 'The draft is not what was looked at');
  await adoptButton(page).click({ force: true });
  expect((await boardNow(post)).setPoints.reviewed).toBe(false);
  // Somebody leaves for another page, and finds the draft again.
  await page.getByRole('link', { name: 'Board' }).click();
  await page.locator('tr.row').first().waitFor();
  await page.getByRole('link', { name: 'Set-points' }).click();
  await sees(page, '.sp-plain', 'Changed: carbon monoxide, co-35: at or over 35 ppm, now at or over 30 ppm');
  const lookAt = await button(page, 'See what it would change').boundingBox();
  await button(page, 'See what it would change').click();
  await page.locator('.sp-preview').waitFor();
  const adoptAt = await adoptButton(page).boundingBox();
  expect(lookAt && adoptAt && lookAt.y + lookAt.height < adoptAt.y).toBe(true); // a second press there adopts nothing
  await adoptButton(page).click();
  await says(page, 'Done and recorded: “County”, version 7, is in force.');
  await sees(page, '.sp-in-force', /County, version 7[\s\S]*Reviewed and adopted by officer-1/);
  expect(await page.getByText(/not yet reviewed/i).count()).toBe(0);
  expect((await boardNow(post)).setPoints).toEqual({ name: 'County', version: 7, reviewed: true });

  await give(sample('M-08', 2, co(32)));
  await page.getByRole('link', { name: 'Alarms' }).click();
  const card = page.locator('article.alarm').filter({ hasText: /M-08[\s\S]*carbon monoxide 32 ppm/ });
  await card.getByRole('button', { name: 'Acknowledge' }).click();
  await card.getByLabel(/What was decided/).fill('engine of the pump, moved');
  await card.getByRole('button', { name: 'Confirm: acknowledged' }).click();
  await card.filter({ hasText: /answered by officer-1/ }).waitFor();
  await give([sample('M-08', 3)]);
  await give([sample('M-08', 4)]); // one reading alone ends nothing
  const told = page.locator('section.history li').filter({ hasText: 'M-08' });
  await told.filter({ hasText: 'raised' }).waitFor();
  await told.filter({ hasText: /officer-1[\s\S]*engine of the pump, moved/ }).waitFor();
  await told
    .filter({ hasText: /went away|returned|over|ended|cleared/ })
    .first()
    .waitFor();
  expect((await boardNow(post)).alarms.map((alarm) => alarm.monitor)).toEqual(['M-07']);
});

test('lines are added, removed and put back, by keyboard too; what is protected cannot go', async () => {
  const { post } = await heardPost(sample('M-07', 1));
  const page = await browser.open(post, { as: 'officer', path: '/set-points' });
  await button(page, 'Begin a draft').click();
  await button(page, 'Remove lel-25').click();
  await sees(page, '.sp-problems', 'combustible danger at 25 %LEL or below is missing');
  expect(await isOff(button(page, 'See what it would change'))).toBe(true);
  await button(page, 'Put back lel-25').click();
  await sees(page, '.sp-draft', 'Nothing keeps it from being adopted.');

  await page.getByLabel('Another set-point on').selectOption('h2s');
  await button(page, 'Add it').click();
  await page.keyboard.type('h2s-5'); // the cursor is in its first field
  const form = page.getByRole('form', { name: 'Set-point h2s-5' });
  await form.getByRole('textbox', { name: 'Level', exact: true }).fill('5');
  expect(await readable(form.locator('.sp-unit').first())).toBe('ppm');
  await form.getByRole('textbox', { name: /^Deadband/ }).fill('0.5');
  await form.getByLabel('Where the level is from').fill('County procedure 4');
  await page.keyboard.press('Tab');
  await form.getByLabel('How sure').selectOption('seen');
  await form.getByRole('textbox', { name: 'Level', exact: true }).press('Enter');
  await sees(page, '.sp-plain', 'New: hydrogen sulfide, h2s-5: caution at or over 5.0 ppm');
  await until('the line has the focus', () =>
    page.evaluate(() => document.activeElement?.getAttribute('aria-label') === 'Change h2s-5'),
  );

  await button(page, 'Throw the draft away…').click();
  await button(page, 'Confirm: throw it away').click();
  await sees(page, '.sp-table', 'Table in force');
  expect(await page.getByText(/h2s-5\b/).count()).toBe(0);
});

test('a table goes out as a file and comes in from one; what is wrong with a file is said in words', async () => {
  const { post } = await heardPost(sample('M-07', 1));
  const page = await browser.open(post, { as: 'officer', path: '/set-points' });
  const [download] = await Promise.all([page.waitForEvent('download'), button(page, 'Export as a file').click()]);
  expect(download.suggestedFilename()).toBe('set-points-starting-points-1.json');
  expect(setPointTable.parse(JSON.parse(readFileSync(await download.path(), 'utf8')))).toEqual(DEFAULT_TABLE);

  const take = (name: string, text: string) =>
    page.getByLabel(/^Import a file/).setInputFiles({ name, mimeType: 'application/json', buffer: Buffer.from(text) });
  await take('notes.json', '{ "name": 7 }');
  await says(page, '“notes.json” is no table of set-points. Nothing was taken.');
  await sees(page, '.sp-problems', /Table, name:/);
  const county: SetPointTable = { ...DEFAULT_TABLE, name: 'County', version: 4 };
  const holed = { ...county, setPoints: county.setPoints.filter((point) => point.id !== 'h2s-idlh') };
  await take('holed.json', tableToText(holed));
  await sees(page, '.sp-problems', 'hydrogen sulfide IDLH at 100 ppm or below');
  expect(await isOff(adoptButton(page))).toBe(true);
  await take('county.json', tableToText(county));
  await says(page, `“county.json” is in the draft, ${county.setPoints.length} set-points. Nothing is in force yet.`);
  await button(page, 'See what it would change').click();
  await adoptButton(page).click();
  await says(page, 'Done and recorded: “County”, version 4, is in force.');
});

test('a table that somebody else adopts meanwhile is said, and has to be looked at against', async () => {
  const { post } = await heardPost(sample('M-07', 1));
  const page = await browser.open(post, { as: 'officer', path: '/set-points' });
  await button(page, 'Begin a draft').click();
  await button(page, 'See what it would change').click();
  await page.locator('.sp-preview').waitFor();
  const commander = await post.staff('commander');
  const table = { ...DEFAULT_TABLE, name: 'District', version: 9 };
  await commander.send('POST', '/api/v1/commands', { id: 'd', type: 'set-points-adopt', table });
  await sees(page, '.sp-caution', 'Another table was adopted since this draft was begun');
  await sees(page, '.sp-caution', 'Another table is in force since: see again');
  expect(await isOff(adoptButton(page))).toBe(true);
  await sees(page, '.sp-in-force', /District, version 9[\s\S]*commander-1/);
});

test('background: assumed and said so, taken, refused in words unless overridden, and what it silences seen first', async () => {
  const { post, give } = await heardPost(sample('M-07', 1), sample('M-08', 1, gamma(24)));
  const page = await browser.open(post, { as: 'officer', path: '/set-points' });
  await sees(page, '.sp-background', /Background not taken: oxygen, organic vapour, gamma/);
  await sees(page, '.sp-scopes > li', /M-07[\s\S]*7 µR\/h[\s\S]*assumed: background not taken[\s\S]*reads 7 µR\/h/);
  await give([sample('M-07', 2), sample('M-08', 2, gamma(24))]); // fresh, for what is taken now
  await button(scope(page, 'M-07'), 'Take what it reads now').click();
  await scope(page, 'M-07').getByText('Done and recorded: the background of M-07 is taken.').waitFor();
  await sees(page, '.sp-scopes > li', /M-07[\s\S]*gamma[\s\S]*7 µR\/h[\s\S]*taken [\d:]{8} by officer-1/);

  const eight = scope(page, 'M-08');
  await button(eight, 'Type values…').click();
  await eight.getByRole('textbox', { name: 'gamma' }).fill('0.0024');
  await eight.getByLabel('Unit of gamma').selectOption('mSv/h');
  await button(eight, 'Take these').click();
  const override = page.getByRole('form', { name: 'Override for M-08' });
  await override.getByText(/gamma 240 µR\/h is outside 1 to 20/).waitFor();
  expect((await boardNow(post)).backgrounds?.some((one) => one.monitor === 'M-08')).toBe(false);
  await override.getByRole('button', { name: 'Leave it' }).click();
  await eight.getByRole('textbox', { name: 'gamma' }).fill('21');
  await eight.getByLabel('Unit of gamma').selectOption('uR/h');
  await button(eight, 'Take these').click();
  await button(override, 'Override: take it').click(); // without a reason nothing is sent
  await override.getByRole('textbox').fill('granite here, two monitors agree');
  await button(override, 'Override: take it').click();
  const confirm = page.getByRole('group', { name: 'Confirm for M-08' });
  await confirm.getByText('M-08: gamma 24 µR/h').waitFor();
  expect((await boardNow(post)).backgrounds?.some((one) => one.monitor === 'M-08')).toBe(false);
  await button(confirm, 'Confirm: take it and end them').click();
  await sees(page, '.sp-scopes > li', /M-08[\s\S]*21 µR\/h[\s\S]*against the checks: granite here, two monitors agree/);
  expect((await boardNow(post)).backgrounds).toContainEqual(
    expect.objectContaining({
      monitor: 'M-08',
      channel: 'gamma',
      value: 21,
      override: 'granite here, two monitors agree',
    }),
  );
  await button(scope(page, 'The site'), 'Type values…').click();
  await button(scope(page, 'The site'), 'Take these').click();
  await scope(page, 'The site').getByText('Type at least one value.').waitFor();
});

test('a viewer reads all of it, and can change none of it', async () => {
  const { post } = await heardPost(sample('M-07', 1));
  const page = await browser.open(post, { as: 'viewer', path: '/set-points' });
  await sees(page, '.sp-head', 'You are looking only');
  await sees(page, '.sp-line', /19\.5 %vol/);
  await sees(page, '.sp-scopes > li', /M-07[\s\S]*background not taken/);
  const names = await page.locator('main section').getByRole('button').allInnerTexts();
  expect(names).toEqual(['Export as a file']);
  expect(await page.locator('main').locator('input, select, textarea, form').count()).toBe(0);
});

test('while the post is gone backgrounds are covered and nothing is sent', async () => {
  const { post } = await heardPost(sample('M-07', 1));
  const page = await browser.open(post, { as: 'officer', path: '/set-points', expects: SERVER_GONE });
  await button(page, 'Begin a draft').click();
  const sent: string[] = [];
  page.on('request', (request) => {
    if (request.method() === 'POST') sent.push(request.url());
  });
  await post.kill('SIGKILL');
  await sees(page, '.sp-not-live', /Not live/);
  expect(await readable(page.locator('.sp-background'))).not.toContain('µR/h');
  await button(page, 'See what it would change').click({ force: true });
  await button(scope(page, 'M-07'), 'Take what it reads now').click({ force: true });
  expect(sent).toEqual([]);
});

describe('axe-core finds nothing serious, nothing is wider than the page, and all is big enough for a glove', () => {
  let post: RunningPost;
  beforeAll(async () => {
    const heard = await heardPost(sample('M-07', 1, co(31)), sample('M-08', 1, gamma(24)), sample('M-09', 1));
    post = heard.post;
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
        as: 'officer',
        path: '/set-points',
        theme,
        size: { width, height },
        bypassContentPolicy: true,
      });
      const sound = async () => {
        expect(await graveFindings(page)).toEqual([]);
        expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)).toBeLessThanOrEqual(0);
      };
      await page.locator('.sp-line').first().waitFor();
      await page.evaluate(() => document.fonts.ready);
      await sound();
      await button(page, 'Begin a draft').click();
      await button(page, 'Remove voc-1').click();
      await button(page, 'Change co-35').click();
      await fill(page, 'co-35', 'Level', '30');
      await button(page, 'See what it would change').click();
      await page.locator('.sp-preview').waitFor();
      await fill(page, 'co-35', 'Level', '250');
      await button(scope(page, 'M-08'), 'Type values…').click();
      await scope(page, 'M-08').getByRole('textbox', { name: 'gamma' }).fill('x');
      await button(scope(page, 'M-08'), 'Take these').click();
      await scope(page, 'M-08').getByText('This is not a number.').waitFor();
      await sound();
      const small = await page
        .locator('main')
        .locator('button, input:not([type=file], [type=checkbox]), select, label.button, label.sp-check')
        .evaluateAll((all) =>
          all
            .filter((one) => one.checkVisibility() && one.getBoundingClientRect().height < 48)
            .map((one) => one.outerHTML),
        );
      expect(small).toEqual([]);
      if (width > 1000) return;
      // The further pages stand behind one control, and are all there by keyboard.
      const more = button(page, 'More: Set-points');
      await more.focus();
      await page.keyboard.press('Enter');
      await sound();
      await page.keyboard.press('Escape');
      expect(await more.getAttribute('aria-expanded')).toBe('false');
      await page.keyboard.press('Enter');
      await page.getByRole('link', { name: 'Calculator' }).click();
      await page.getByRole('heading', { name: 'Calculator', level: 1 }).waitFor();
      expect(await page.getByRole('link', { name: 'Desk' }).count()).toBe(0);
    },
  );
});
