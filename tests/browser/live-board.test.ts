/** A packet over HTTP, seen on every page without a reload. */
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

const with_ = (readings: Record<string, unknown>) => ({ readings: { ...CLEAN, ...readings } });

test('the board shows a packet as it comes, and the call sign as soon as it is given', async () => {
  const page = await browser.open(post, { as: 'viewer' });
  await sees(page, '.nothing', 'No monitor has been heard yet');
  await page.evaluate(() => Reflect.set(window, 'sameLoad', true));

  await postPackets(post, token, sample('M-07', 1, with_({ co: { value: 12, unit: 'ppm' } })));
  const row = page.locator('tr.row').filter({ hasText: 'M-07' });
  await row.waitFor();
  const cell = row.locator('td.cell').nth(2);
  expect(await readable(cell)).toMatch(/^12\s*ppm/);
  expect(await readable(row)).toContain('nobody given');

  const officer = await post.staff('officer');
  await officer.send('POST', '/api/v1/commands', {
    id: 'assign-1',
    type: 'assign',
    monitor: 'M-07',
    entrant: 'E1-A',
    team: 'Entry 1',
    role: 'entry',
  });
  await row.filter({ hasText: 'E1-A' }).waitFor();
  await sees(page, 'tr.group', 'Entry 1');

  await postPackets(post, token, sample('M-07', 2, with_({ co: { value: 14, unit: 'ppm' } })));
  await cell.filter({ hasText: /^14/ }).waitFor();
  expect(await page.evaluate(() => Reflect.get(window, 'sameLoad'))).toBe(true);
});

test('the map has a marker with its label, and a list that says the same', async () => {
  const page = await browser.open(post, { as: 'viewer', path: '/map' });
  await page.locator('.map-list').waitFor();
  const place = { position: { lat: 44.0512, lon: -98.2114, accuracy: 6 } };
  await postPackets(post, token, sample('M-21', 1, { ...with_({ lel: { value: 14, unit: '%LEL' } }), ...place }));

  await sees(page, '.map-row', /M-21[\s\S]*14 %LEL/);
  await sees(page, '.map-row', /CAUTION/i);
  await sees(page, '.map-readout', /centre|pointer/);
  // The marker is drawn: where the map points at one monitor, its colour is in the picture.
  const drawn = () =>
    page.evaluate(() => {
      const canvas = [...document.querySelectorAll('canvas')].find((one) => one.width > 300);
      const picture = canvas?.getContext('2d')?.getImageData(0, 0, canvas.width, canvas.height).data;
      let yellow = 0;
      for (let i = 0; picture && i < picture.length; i += 4) {
        const [r = 0, g = 0, b = 0] = [picture[i], picture[i + 1], picture[i + 2]];
        if (r > 230 && g > 180 && b < 60) yellow += 1;
      }
      return yellow;
    });
  await expect.poll(drawn).toBeGreaterThan(100);
});

test("a monitor's page has its readings, its packets and its charts in words", async () => {
  const page = await browser.open(post, { as: 'viewer', path: '/monitor/M-31' });
  await sees(page, '.monitor-page', 'No monitor M-31 has been heard');
  for (const seq of [1, 2, 3])
    await postPackets(post, token, sample('M-31', seq, with_({ h2s: { value: seq, unit: 'ppm' } })));

  const channel = page.getByRole('region', { name: 'hydrogen sulfide' });
  await channel.filter({ hasText: /3\.0\s*ppm/ }).waitFor();
  await channel
    .locator('.channel-summary')
    .filter({ hasText: /least 1\.0 at [\d:]+.*greatest 3\.0/s })
    .waitFor();
  const packets = page.locator('table.monitor-packets tbody tr');
  await packets
    .filter({ hasText: 'b1, 3' })
    .filter({ hasText: /h2s 3 ppm/ })
    .waitFor();

  await postPackets(post, token, sample('M-31', 4, with_({ h2s: { value: 4, unit: 'ppm' } })));
  await channel.filter({ hasText: /4\.0\s*ppm/ }).waitFor();
  await channel
    .locator('.channel-summary')
    .filter({ hasText: /greatest 4\.0/ })
    .waitFor();
});
