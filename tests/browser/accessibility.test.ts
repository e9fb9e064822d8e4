/** axe-core on every page in both looks: nothing serious, nothing critical (WCAG 2.2, as far as a program can tell). */
import { beforeAll, expect, test } from 'vitest';
import { type RunningPost, runServer } from '../support/run-server.ts';
import { CLEAN, postPackets, sample } from '../support/sample-packets.ts';
import { graveFindings, type PageOptions, useBrowser } from './support/browser.ts';

const browser = useBrowser();
let post: RunningPost;
beforeAll(async () => {
  post = await runServer();
  const token = await post.token('R1');
  const commander = await post.staff('commander');
  await commander.send('POST', '/api/v1/commands', { id: 'x', type: 'incident-open', name: 'Lot 9', exercise: true });
  const position = { lat: 44.0512, lon: -98.2114, accuracy: 6 };
  await postPackets(post, token, [
    sample('M-07', 1, {
      readings: { ...CLEAN, o2: { value: 18.5, unit: '%vol' }, lel: { value: 14, unit: '%LEL' } },
      position,
    }),
    sample('M-08', 1, { readings: { ...CLEAN, co: { flag: 'warming' }, gamma: { value: 22, unit: 'uR/h' } } }),
    sample('M-09', 1, { readings: { gamma: { value: 7, unit: 'uR/h' } }, status: { mode: 'radiation-only' } }),
    sample('M-10', 1, { status: { motion: 'down', pump: 'off', battery: 9 } }),
  ]);
});

const PAGES: readonly (readonly [path: string, shown: string, as: PageOptions['as']])[] = [
  ['/', 'tr.row', 'officer'],
  ['/alarms', 'article.alarm', 'officer'],
  ['/map', '.map-row', 'officer'],
  ['/monitor/M-07', '.channel-summary', 'officer'],
  ['/login', 'form', undefined],
  ['/first?code=abc', 'form', undefined],
  ['/wall', 'tr.row', 'viewer'],
  ['/wall', 'form', undefined],
];
const EVERY = PAGES.flatMap(([path, shown, as]) =>
  (['day', 'night'] as const).map((theme) => ({ path, shown, as, theme })),
);

test.each(EVERY)('$path ($as) in the look of $theme', async ({ path, shown, as, theme }) => {
  const page = await browser.open(post, {
    path,
    theme,
    bypassContentPolicy: true,
    ...(as === undefined ? {} : { as }),
  });
  await page.locator(shown).first().waitFor();
  await page.evaluate(() => document.fonts.ready);
  expect(await graveFindings(page)).toEqual([]);
});
