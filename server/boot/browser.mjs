// Finds the browser that the browser tests drive.
import { spawnSync } from 'node:child_process';
import { accessSync, constants, existsSync, readdirSync } from 'node:fs';
import { homedir } from 'node:os';
import { delimiter, join } from 'node:path';
import { say } from './prepare.mjs';

const NAMES = ['chromium', 'chromium-browser', 'google-chrome', 'google-chrome-stable'];
const IN_CACHE = [
  'chrome-linux/chrome',
  'chrome-linux64/chrome',
  'chrome-linux/headless_shell',
  'chrome-headless-shell-linux64/chrome-headless-shell',
];

/** The path of a Chromium, got from Debian's packages where that is possible, or null after saying how to get one. */
export function findBrowser() {
  const found = fromEnvironment() ?? onPath() ?? inPlaywrightCache() ?? fromDebian();
  if (found === null) say('the browser tests need Chromium: install it, or set CHROMIUM=/path/to/chromium');
  return found;
}

function fromEnvironment() {
  for (const path of [process.env.UPWIND_CHROMIUM, process.env.CHROMIUM]) if (path && isProgram(path)) return path;
  return null;
}

function onPath() {
  const folders = (process.env.PATH ?? '').split(delimiter).filter(Boolean);
  return NAMES.flatMap((name) => folders.map((folder) => join(folder, name))).find(isProgram) ?? null;
}

function inPlaywrightCache() {
  const cache = process.env.PLAYWRIGHT_BROWSERS_PATH || join(homedir(), '.cache/ms-playwright');
  if (!existsSync(cache)) return null;
  const versions = readdirSync(cache).filter((name) => name.startsWith('chromium'));
  return versions.flatMap((version) => IN_CACHE.map((path) => join(cache, version, path))).find(isProgram) ?? null;
}

function fromDebian() {
  if (process.getuid?.() !== 0 || !isProgram('/usr/bin/apt-get')) return null;
  say('no browser found: getting Chromium from the system packages');
  const options = { stdio: ['ignore', 2, 2], env: { ...process.env, DEBIAN_FRONTEND: 'noninteractive' } };
  spawnSync('apt-get', ['update'], options);
  spawnSync('apt-get', ['install', '-y', '--no-install-recommends', 'chromium'], options);
  return onPath();
}

function isProgram(path) {
  try {
    accessSync(path, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}
