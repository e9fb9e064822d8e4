/** Sound is off until a press, what is played is laid down on the browser's own clock, and silence is said in words. */
import type { Page } from 'playwright-core';
import { beforeAll, expect, test } from 'vitest';
import { type RunningPost, runServer } from '../support/run-server.ts';
import { CLEAN, postPackets, sample } from '../support/sample-packets.ts';
import { graveFindings, SERVER_GONE, sees, useBrowser } from './support/browser.ts';

const browser = useBrowser();
let post: RunningPost;
let token: string;
beforeAll(async () => {
  post = await runServer();
  token = await post.token('R1');
  const commander = await post.staff('commander');
  await commander.send('POST', '/api/v1/commands', { id: 'x', type: 'incident-open', name: 'Lot 9', exercise: true });
});

const OFF = { name: 'Sound off: turn on' } as const;
const ON = { name: 'Sound on' } as const;
/** Room for a busy machine. */
const SOON = { timeout: 8000 } as const;
const DANGER_STEPS_MS = [160, 160, 320, 160, 500, 160, 160, 320, 160];
const CAUTION_STEPS_MS = [400, 400];

/** Notes the start of each pulse on the clock of the sound; the product knows nothing of it. */
async function spyOnSound(_: unknown, page: Page): Promise<void> {
  await page.addInitScript(() => {
    const starts: number[] = [];
    Reflect.set(window, 'pulses', starts);
    const Native = AudioContext;
    window.AudioContext = class extends Native {
      constructor(options?: AudioContextOptions) {
        super(options);
        Reflect.set(window, 'soundContext', this);
      }
    };
    const start = OscillatorNode.prototype.start;
    OscillatorNode.prototype.start = function (at) {
      starts.push(at ?? Number.NaN);
      start.call(this, at);
    };
  });
}

/** Milliseconds from pulse to pulse since it was last asked. */
async function steps(page: Page): Promise<number[]> {
  return page.evaluate(() => {
    const starts: number[] = Reflect.get(window, 'pulses');
    return starts.slice(1).map((at, i) => Math.round(1000 * (at - (starts[i] ?? Number.NaN))));
  });
}

function forget(page: Page): Promise<void> {
  return page.evaluate(() => void Reflect.get(window, 'pulses').splice(0));
}

const open = (options = {}) => browser.open(post, { as: 'officer', prepare: spyOnSound, ...options });

test('one press arms a screen; an alarm plays its pattern; the other screens know that one sounds', async () => {
  const page = await open();
  const silent = await open();
  for (const each of [page, silent]) {
    await sees(each, '.standing li', /No screen sounds/);
    expect(await each.evaluate(() => Reflect.get(window, 'pulses').length)).toBe(0);
  }
  await page.getByRole('button', OFF).click();
  await page.getByRole('button', ON).waitFor();
  await expect.poll(() => page.locator('.standing li').filter({ hasText: /sound/i }).count(), SOON).toBe(0);
  await sees(silent, '.standing li', /Sound is off here though one other screen sounds/);
  expect(await silent.locator('.standing li').filter({ hasText: 'No screen sounds' }).count()).toBe(0);

  await expect.poll(() => steps(page), SOON).toHaveLength(1); // two pulses say that it works
  await forget(page);
  await postPackets(post, token, sample('M-07', 1, { readings: { ...CLEAN, o2: { value: 17.3, unit: '%vol' } } }));
  await expect.poll(() => steps(page), SOON).toEqual(DANGER_STEPS_MS);
  expect(await steps(silent)).toEqual([]);

  await silent.getByRole('button', OFF).click();
  await silent.getByRole('button', ON).waitFor();
  await expect.poll(() => steps(silent), SOON).toEqual(DANGER_STEPS_MS); // what waits is heard at once
  await expect.poll(() => silent.locator('.standing li').filter({ hasText: /sound/i }).count(), SOON).toBe(0);

  await page.close();
  await silent.getByRole('button', ON).click();
  await silent.getByRole('button', { name: 'Turn sound off' }).click();
  await sees(silent, '.standing li', /No screen sounds/);
  await silent.getByRole('button', OFF).waitFor();
});

test('a page in the background sounds; a suspended context is taken up, one that is not says so', async () => {
  const own = await runServer();
  const page = await browser.open(own, { as: 'officer', prepare: spyOnSound });
  await page.getByRole('button', OFF).click();
  await page.getByRole('button', ON).waitFor();
  await expect.poll(() => steps(page), SOON).toHaveLength(1);
  await forget(page);
  // As a browser treats a tab that is not in front: hidden, and never painted.
  await page.evaluate(() => {
    Object.defineProperty(document, 'hidden', { configurable: true, get: () => true });
    window.requestAnimationFrame = () => 0;
  });
  await postPackets(own, await own.token('R1'), sample('M-08', 1, { status: { help: true } }));
  await expect.poll(() => steps(page), SOON).toEqual(DANGER_STEPS_MS);

  const state = () => page.evaluate(() => Reflect.get(window, 'soundContext').state);
  await page.evaluate(() => Reflect.get(window, 'soundContext').suspend());
  await expect.poll(state, SOON).toBe('running');
  await page.evaluate(() => {
    Reflect.get(window, 'soundContext').resume = () => Promise.reject(new Error('not now'));
    return Reflect.get(window, 'soundContext').suspend();
  });
  await sees(page, '.standing li', /browser does not play it/);
  await page.getByRole('button', OFF).click();
  await page.getByRole('button', ON).waitFor();
});

test('after a reload the wish is remembered, and any press will do', async () => {
  const page = await open();
  await page.getByRole('button', OFF).click();
  await page.getByRole('button', ON).waitFor();
  await page.reload();
  await sees(page, '.standing li', /Sound needs one press after a reload/);
  await page.locator('.summary .clock').click();
  await page.getByRole('button', ON).waitFor();
});

test('each priority can be tried out, and a post that is gone is heard', async () => {
  const own = await runServer();
  const page = await browser.open(own, { as: 'officer', prepare: spyOnSound, expects: SERVER_GONE });
  await page.getByRole('button', OFF).click();
  await page.getByRole('button', ON).click();
  for (const [name, wanted] of [
    ['DANGER', DANGER_STEPS_MS],
    ['CAUTION', CAUTION_STEPS_MS],
    ['NOTICE', [420]],
  ] as const) {
    await forget(page);
    await page.getByRole('button', { name, exact: true }).click();
    expect(await steps(page)).toEqual(wanted);
  }
  await page.keyboard.press('Escape');
  expect(await page.locator('.sound-panel').count()).toBe(0);
  await forget(page);
  await own.kill('SIGKILL');
  await page.locator('.feed-notice.covered').waitFor();
  await expect.poll(() => steps(page), SOON).toEqual(CAUTION_STEPS_MS);
});

test.each(['day', 'night'] as const)('nothing grave in the panel, in the look of %s', async (theme) => {
  const page = await open({ theme, bypassContentPolicy: true });
  await page.getByRole('button', OFF).click();
  await page.getByRole('button', ON).click();
  await page.locator('.sound-panel').waitFor();
  await page.evaluate(() => document.fonts.ready);
  expect(await graveFindings(page)).toEqual([]);
});

test('a wall screen has the button too', async () => {
  const page = await open({ path: '/wall', as: 'viewer' });
  await page.getByRole('button', OFF).click();
  await page.getByRole('button', ON).click();
  await page.locator('.sound-panel').waitFor();
  const box = await page.locator('.sound-panel').boundingBox();
  expect(box?.y ?? Number.NaN).toBeGreaterThanOrEqual(0);
});
