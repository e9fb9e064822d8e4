import { test } from 'vitest';
import { runServer } from '../support/run-server.ts';
import { CLEAN, postPackets, sample } from '../support/sample-packets.ts';
import { useBrowser } from './support/browser.ts';
const browser = useBrowser();
test('shots', async () => {
  const post = await runServer();
  const token = await post.token('R1');
  const commander = await post.staff('commander');
  const send = (id: string, body: object) => commander.send('POST', '/api/v1/commands', { id, ...body });
  await send('o', { type: 'incident-open', name: 'Lot 9', exercise: true });
  await postPackets(post, token, [
    sample('M-07', 1, { readings: { ...CLEAN, o2: { value: 18.5, unit: '%vol' }, lel: { value: 14, unit: '%LEL' } } }),
    sample('M-08', 1, { readings: { ...CLEAN, co: { value: 31, unit: 'ppm' }, gamma: { value: 22, unit: 'uR/h' } } }),
    sample('M-09', 1),
    sample('M-10', 1, { readings: { gamma: { flag: 'warming' } } }),
  ]);
  await send('a', { type: 'assign', monitor: 'M-07', entrant: 'E1-A', team: 'Entry 1', role: 'entry' });
  await send('b', { type: 'background', scope: 'M-09', take: true });
  await send('c', { type: 'background', scope: 'site', channels: { gamma: { value: 9, unit: 'uR/h' } } });
  for (const theme of ['day', 'night'] as const)
    for (const [width, height] of [[1920, 1080], [1280, 800], [820, 1180]] as const) {
      const page = await browser.open(post, { as: 'officer', path: '/set-points', theme, size: { width, height } });
      await page.locator('.sp-line').first().waitFor();
      await page.evaluate(() => document.fonts.ready);
      const shot = (name: string, fullPage = false) => page.screenshot({ path: `/tmp/sp/shots/${name}-${width}-${theme}.png`, fullPage });
      await shot('a-force', theme === 'day');
      await page.getByRole('button', { name: 'Begin a draft' }).click();
      await page.getByRole('button', { name: 'Change co-35' }).click();
      await page.getByRole('textbox', { name: 'Level', exact: true }).fill('30');
      await page.getByRole('button', { name: 'Change lel-10' }).click();
      await page.getByRole('textbox', { name: 'Level', exact: true }).fill('20');
      await page.getByRole('button', { name: 'Remove voc-1' }).click();
      await page.getByRole('button', { name: 'See what it would change' }).click();
      await page.locator('.sp-preview').waitFor();
      const line = page.getByRole('listitem', { name: 'M-08' });
      await line.getByRole('button', { name: 'Take what it reads now' }).click();
      await page.getByRole('form', { name: 'Override for M-08' }).waitFor();
      await page.getByRole('listitem', { name: 'The site' }).getByRole('button', { name: 'Type values…' }).click();
      await shot('b-draft', true);
      if (width === 820) {
        await page.getByRole('button', { name: /^More/ }).click();
        await page.screenshot({ path: `/tmp/sp/shots/c-more-${width}-${theme}.png` });
      }
    }
}, 120_000);
