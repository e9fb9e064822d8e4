/** The ways in, and what each lets a screen do. */
import { expect, test } from 'vitest';
import { runServer } from '../support/run-server.ts';
import { postPackets, sample } from '../support/sample-packets.ts';
import { readable, sees, useBrowser } from './support/browser.ts';
import { startNewPost } from './support/new-post.ts';

const browser = useBrowser();
const PASSPHRASE = 'correct horse battery';

test('nobody logged in sees the login and nothing else; a wrong passphrase is refused in words', async () => {
  const post = await runServer();
  await post.staff('officer');
  await postPackets(post, await post.token('R1'), sample('M-07', 1));
  const page = await browser.open(post, { path: '/' });
  await page.waitForURL('**/login');
  expect(await readable(page.locator('body'))).not.toContain('M-07');
  await page.getByLabel('Name').fill('officer-1');
  await page.getByLabel('Passphrase').fill('not that one');
  await page.getByRole('button', { name: 'Log in' }).click();
  await sees(page, '.form-refused', /name or passphrase is wrong/);
  await page.getByLabel('Passphrase').fill(PASSPHRASE);
  await page.getByRole('button', { name: 'Log in' }).click();
  await sees(page, 'tr.row', 'M-07');
  await page.getByRole('button', { name: 'Leave' }).click();
  await page.waitForURL('**/login');
  expect(await readable(page.locator('body'))).not.toContain('M-07');
});

test('the link that a new post prints makes its first commander, once', async () => {
  const { url, firstLink } = await startNewPost();
  const post = { url, staff: () => Promise.reject(new Error('nobody')) };
  const path = firstLink.slice(url.length);
  const page = await browser.open(post, { path });
  const code = await page.getByLabel('Code').inputValue();
  expect(firstLink).toContain(encodeURIComponent(code));
  await page.getByLabel('Your name').fill('Command 1');
  await page.getByLabel('Passphrase').fill(PASSPHRASE);
  await page.getByRole('button', { name: 'Make the first commander' }).click();
  await sees(page, '.who-here', 'Command 1, commander');

  const late = await browser.open(post, { path, expects: [/status of 403/] });
  await late.getByLabel('Your name').fill('Somebody');
  await late.getByLabel('Passphrase').fill(PASSPHRASE);
  await late.getByRole('button', { name: 'Make the first commander' }).click();
  await late.locator('.form-refused').waitFor();
});

test('a wall screen is paired by a code, shows the board and can do nothing', async () => {
  const post = await runServer();
  const officer = await post.staff('officer');
  const token = await post.token('R1');
  const readings = { o2: { value: 18, unit: '%vol' } };
  await postPackets(post, token, sample('M-07', 1, { readings }));
  const made = await officer.send('POST', '/api/v1/wall/pair', { name: 'Tent wall' });
  const { code } = made.body as { code: string };

  const page = await browser.open(post, { path: '/wall', expects: [/status of 403/] });
  await page.getByLabel('Pairing code').fill('WRONG-1');
  await page.getByRole('button', { name: 'Pair' }).click();
  await page.locator('.form-refused').waitFor();
  await page.getByLabel('Pairing code').fill(code);
  await page.getByRole('button', { name: 'Pair' }).click();
  await sees(page, 'td.cell.danger', /18\.0/);
  // Its own loudspeaker is all that a hand can change on it.
  const controls = page.locator('a, button, input, form').filter({ visible: true });
  for (const words of await controls.allInnerTexts()) expect(words).toMatch(/sound/i);

  const refused = await page.evaluate(async () => {
    const answer = await fetch('/api/v1/commands', {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ id: 'w1', type: 'note', text: 'from the wall' }),
    });
    return answer.status;
  });
  expect(refused).toBe(403);
  await page.reload();
  await sees(page, 'td.cell.danger', /18\.0/);
});

test('the demonstration is open to look at; acting takes one click that says so', async () => {
  const post = await runServer({ command: 'demo' });
  const page = await browser.open(post, { path: '/' });
  await sees(page, 'tr.row', /M-07/);
  await sees(page, '.band.exercise', 'EXERCISE');
  await page.getByRole('button', { name: 'Act as commander in this demonstration' }).click();
  await sees(page, '.who-here', /commander/);
  expect(await page.getByRole('button', { name: /^Act as commander/ }).count()).toBe(0);
});
