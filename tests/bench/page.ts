/**
 * The board in Chromium at 200 monitors with a packet a second each: longest task, share of a core, and the time
 * from a packet's sending to the paint that shows it, against a bare commit and a bare echo.
 */
import { chromium } from 'playwright-core';
import { createMaker } from './packets.ts';
import { makeToken, startPost } from './processes.ts';

const ARGS = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
];
export type PageFigures = {
  readonly longestTaskMs: number;
  readonly over50Ms: number;
  readonly corePercent: number;
  readonly drawnP50Ms: number;
  readonly drawnP99Ms: number;
};

export async function measurePage(options: {
  monitors: number;
  seconds: number;
  executable: string;
}): Promise<PageFigures> {
  const post = await startPost();
  const viewer = await makeToken(post.folder, 'screen', 'viewer');
  const browser = await chromium.launch({ executablePath: options.executable, args: ARGS });
  try {
    const page = await browser.newPage({
      viewport: { width: 1920, height: 1080 },
      extraHTTPHeaders: { authorization: `Bearer ${viewer}` },
    });
    const send = (body: string) =>
      fetch(`${post.url}/api/v1/packets`, {
        method: 'POST',
        headers: { 'content-type': 'application/json', authorization: `Bearer ${post.token}` },
        body,
      });
    const maker = spread(createMaker('page', options.monitors, SPELL_S * options.monitors), options.monitors);
    await send(maker.batch(options.monitors));
    await page.goto(post.url);
    await page.waitForFunction((n) => document.querySelectorAll('tbody tr').length >= n, options.monitors);
    await page.evaluate(watchTasks);
    const session = await page.context().newCDPSession(page);
    // The thread's own time: a task that waits for a processor others hold uses none.
    await session.send('Performance.enable', { timeDomain: 'threadTicks' });
    const before = await taskSeconds(session);
    const drawn = await sendAndWatch(page, send, maker, options);
    const busy = (await taskSeconds(session)) - before;
    const tasks = await page.evaluate(() => (window as unknown as { upwindTasks: number[] }).upwindTasks);
    drawn.sort((a, b) => a - b);
    return {
      longestTaskMs: Math.max(0, ...tasks),
      over50Ms: tasks.length,
      corePercent: (busy / options.seconds) * 100,
      drawnP50Ms: drawn[Math.floor(drawn.length * 0.5)] ?? Number.NaN,
      drawnP99Ms: drawn[Math.floor(drawn.length * 0.99)] ?? Number.NaN,
    };
  } finally {
    await browser.close();
    await post.stop();
  }
}

/** Readings of one monitor wander by one radian in this many seconds. */
const SPELL_S = 20;
/** A prime, so that it shares no factor with usual numbers of monitors. */
const STRIDE = 73;

/** Rows that stand together are not heard together: the worst case for a page, which draws each by itself. */
function spread(maker: ReturnType<typeof createMaker>, monitors: number): ReturnType<typeof createMaker> {
  const apart = (text: string) =>
    text.replaceAll(/"monitor":"L-(\d+)"/g, (_, m) => `"monitor":"L-${(Number(m) * STRIDE) % monitors}"`);
  return { next: () => apart(maker.next()), batch: (size) => apart(maker.batch(size)) };
}

function watchTasks(): void {
  const tasks: number[] = [];
  Object.assign(window, { upwindTasks: tasks });
  new PerformanceObserver((list) => {
    for (const entry of list.getEntries()) tasks.push(entry.duration);
  }).observe({ type: 'longtask', buffered: false });
}

async function taskSeconds(session: {
  send(method: 'Performance.getMetrics'): Promise<{ metrics: { name: string; value: number }[] }>;
}): Promise<number> {
  const { metrics } = await session.send('Performance.getMetrics');
  return metrics.find((metric) => metric.name === 'TaskDuration')?.value ?? Number.NaN;
}

/** Spreads the packets over each second; those of rows in sight carry a value that the page is watched for. */
async function sendAndWatch(
  page: import('playwright-core').Page,
  send: (body: string) => Promise<unknown>,
  maker: ReturnType<typeof createMaker>,
  options: { monitors: number; seconds: number },
): Promise<number[]> {
  const drawn: number[] = [];
  const inSight = new Set(await page.evaluate(idsInSight));
  const total = options.monitors * options.seconds;
  const from = performance.now();
  const watches: Promise<void>[] = [];
  for (let sent = 0; sent < total; sent += 1) {
    const due = from + (sent / options.monitors) * 1000;
    const wait = due - performance.now();
    if (wait > 1) await new Promise((resolve) => setTimeout(resolve, wait));
    const packet = maker.next();
    const monitor = /"monitor":"([^"]+)"/.exec(packet)?.[1] ?? '';
    if (!inSight.has(monitor)) {
      watches.push(send(packet).then(() => undefined));
      continue;
    }
    // Another value than a second ago, and not far from it.
    const mark = 120 + ((Math.floor(sent / options.monitors) * 7) % 20);
    const seen = page.evaluate(untilShown, [`${mark}ppb`, monitor] as const);
    const at = Date.now();
    const took = send(packet.replace(/"voc":\{"value":-?\d+/, `"voc":{"value":${mark}`));
    watches.push(Promise.all([seen, took]).then(([when]) => void drawn.push(when - at)));
  }
  await Promise.all(watches);
  return drawn;
}

/** Monitors whose rows can be seen. */
function idsInSight(): string[] {
  return [...document.querySelectorAll('tbody tr')].flatMap((row) => {
    const { top, bottom } = row.getBoundingClientRect();
    const id = row.querySelector('a')?.getAttribute('href')?.split('/').at(-1);
    return id !== undefined && bottom > 0 && top < innerHeight ? [id] : [];
  });
}

/**
 * Wall time of the frame after which the row of `monitor` shows `text`; one clock, as both are on one machine. A
 * value that is never shown counts as ten seconds.
 */
function untilShown([text, monitor]: readonly [string, string]): Promise<number> {
  return new Promise((resolve) => {
    const row = document.querySelector(`tbody tr a[href$="/${monitor}"]`)?.closest('tr');
    const latest = Date.now() + 10_000;
    const look = () => {
      if (row?.textContent?.includes(text) || Date.now() > latest) resolve(Date.now());
      else requestAnimationFrame(look);
    };
    requestAnimationFrame(look);
  });
}
