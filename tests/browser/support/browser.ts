/**
 * One Chromium for a test file, and one way to open a page in it: whatever the page complains about (console errors,
 * thrown errors, the content policy) fails the test that opened it.
 */

import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import {
  type Browser,
  type BrowserContext,
  type ConsoleMessage,
  chromium,
  type Locator,
  type Page,
} from 'playwright-core';
import { afterAll, beforeAll, expect, onTestFinished } from 'vitest';
import type { RunningPost, StaffRole } from '../../support/run-server.ts';
import { BROWSER_ARGS, browserPath } from './chromium.ts';

export type PageOptions = {
  /** Logged in as this role; absent: nobody. */
  readonly as?: StaffRole;
  readonly path?: string;
  readonly theme?: 'day' | 'night';
  readonly zone?: string;
  readonly size?: { readonly width: number; readonly height: number };
  /** Complaints that this test provokes itself. */
  readonly expects?: readonly RegExp[];
  readonly bypassContentPolicy?: boolean;
  /** Before the page loads. */
  readonly prepare?: (context: BrowserContext, page: Page) => Promise<void>;
};

/** What Chromium itself says while a server is gone. */
export const SERVER_GONE = [
  /WebSocket connection to .* failed/,
  /net::ERR_(CONNECTION_REFUSED|EMPTY_RESPONSE|CONNECTION_RESET)/,
];

const SIZE = { width: 1600, height: 900 };

/** Launches Chromium with a fresh profile for this test file and closes it at its end. */
export function useBrowser(): { open(post: Pick<RunningPost, 'url' | 'staff'>, options?: PageOptions): Promise<Page> } {
  let browser: Browser | null = null;
  beforeAll(async () => {
    browser = await chromium.launch({ executablePath: browserPath(), args: [...BROWSER_ARGS] });
  }, 60_000);
  afterAll(async () => {
    await browser?.close();
  });
  return {
    open(post, options = {}) {
      if (browser === null) throw new Error('the browser is not running');
      return openPage(browser, post, options);
    },
  };
}

async function openPage(
  browser: Browser,
  post: Pick<RunningPost, 'url' | 'staff'>,
  options: PageOptions,
): Promise<Page> {
  const context = await browser.newContext({
    viewport: options.size ?? SIZE,
    bypassCSP: options.bypassContentPolicy ?? false,
    ...(options.zone === undefined ? {} : { timezoneId: options.zone }),
  });
  context.setDefaultTimeout(10_000);
  const complaints: string[] = [];
  onTestFinished(async () => {
    await context.close();
    expect(complaints).toEqual([]);
  });
  if (options.as !== undefined) await logInAs(context, post, options.as);
  const theme = options.theme;
  // Only where nothing is remembered yet: a page that is loaded again keeps what its own switch remembered.
  if (theme !== undefined) {
    await context.addInitScript((look) => {
      if (localStorage.getItem('theme') === null) localStorage.setItem('theme', look);
    }, theme);
  }
  await context.addInitScript(() => {
    document.addEventListener('securitypolicyviolation', (event) => {
      console.error(`content policy: ${event.violatedDirective} ${event.blockedURI}`);
    });
  });
  const page = await context.newPage();
  const complain = (words: string) => {
    if (!options.expects?.some((pattern) => pattern.test(words))) complaints.push(words);
  };
  page.on('pageerror', (error) => complain(`thrown: ${error.message}`));
  page.on('console', (message) => {
    if (message.type() === 'error' && !isAskingWho(message)) complain(`${message.text()} (${message.location().url})`);
  });
  await options.prepare?.(context, page);
  await page.goto(`${post.url}${options.path ?? '/'}`);
  return page;
}

/** Nobody logged in is an answer; Chromium writes every 401 down as an error. */
function isAskingWho(message: ConsoleMessage): boolean {
  return /status of 401/.test(message.text()) && message.location().url.endsWith('/api/v1/session');
}

async function logInAs(
  context: BrowserContext,
  post: Pick<RunningPost, 'url' | 'staff'>,
  role: StaffRole,
): Promise<void> {
  const { headers } = await post.staff(role);
  const [name, value] = (headers.cookie ?? '').split('=');
  if (!name || !value) throw new Error('a login without a cookie');
  await context.addCookies([{ name, value, url: post.url }]);
}

const axeSource = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/** Serious and critical findings of axe-core on the page as it stands. The page needs `bypassContentPolicy`. */
export async function graveFindings(page: Page): Promise<string[]> {
  await page.evaluate(axeSource);
  return page.evaluate(async () => {
    type Finding = { id: string; impact: string; nodes: { html: string; failureSummary: string }[] };
    const axe = Reflect.get(window, 'axe') as { run(options: object): Promise<{ violations: Finding[] }> };
    const { violations } = await axe.run({ resultTypes: ['violations'] });
    return violations
      .filter(({ impact }) => impact === 'serious' || impact === 'critical')
      .flatMap(({ id, nodes }) =>
        nodes.slice(0, 3).map((node) => `${id}: ${node.html.slice(0, 160)} ${node.failureSummary}`),
      );
  });
}

/** Resolves once an element of the page matches `selector` and says `words`. */
export async function sees(page: Page, selector: string, words: string | RegExp): Promise<void> {
  await page.locator(selector).filter({ hasText: words, visible: true }).first().waitFor();
}

/** What can be read there, as it is laid out. */
export function readable(place: Locator): Promise<string> {
  // biome-ignore lint/performance/useDomNodeTextContent: what is hidden must not count as text
  return place.innerText();
}
