// Brings a clone to where its commands can run: packages installed, the database's native part fitting this Node,
// pages and server built. Everything it says goes to stderr, because a command's stdout belongs to the command.
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, statSync, utimesSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const ROOT = new URL('../../', import.meta.url);
const BUILT_FROM = ['shared', 'server', 'web', 'package-lock.json', 'tsconfig.json'];

/** A file of this package as a URL. */
export function fromRoot(path) {
  return new URL(path, ROOT);
}

/** Installs and builds what is missing or older than its sources. Throws, in one line, when a step fails. */
export function prepare() {
  if (!existsSync(fromRoot('server/tsconfig.json'))) return; // not a clone: what is there is built
  if (!needsInstall() && hasFittingDatabase() && !needsBuild()) return;
  alone(() => {
    if (needsInstall()) install();
    if (!hasFittingDatabase()) rebuildDatabase();
    if (needsBuild()) build();
  });
}

function needsInstall() {
  const installed = changedAt('node_modules/.package-lock.json');
  return installed === null || installed < (changedAt('package-lock.json') ?? 0);
}

function install() {
  say('installing packages; the database has a native part, and compiling it may take two minutes');
  const args = ['ci', '--include=dev', '--no-audit', '--no-fund'];
  const npm = process.env.npm_execpath;
  if (npm?.endsWith('npm-cli.js')) run(process.execPath, [npm, ...args]);
  else run('npm', args);
}

/** Whether the database's native part loads; remembered for each version of Node's binary interface. */
function hasFittingDatabase() {
  const stamp = fromRoot(`node_modules/.upwind-native-${process.versions.modules}`);
  const binary = changedAt('node_modules/better-sqlite3/build/Release/better_sqlite3.node');
  if (binary === null) return false;
  if (existsSync(stamp) && readFileSync(stamp, 'utf8') === String(binary)) return true;
  // In a process of its own: a native part that does not fit cannot be loaded a second time in the same one.
  const code = "new (require('better-sqlite3'))(':memory:').close()";
  const tried = spawnSync(process.execPath, ['-e', code], { cwd: fileURLToPath(ROOT), stdio: 'ignore' });
  if (tried.status === 0) writeFileSync(stamp, String(binary));
  return tried.status === 0;
}

function rebuildDatabase() {
  say(`fitting the database's native part to Node ${process.versions.node}; this may take two minutes`);
  run('npm', ['rebuild', 'better-sqlite3', '--foreground-scripts']);
  if (!hasFittingDatabase())
    throw new Error('the native part of better-sqlite3 does not load: python3, make and g++ may be missing');
}

function needsBuild() {
  const built = changedAt('dist/.built');
  return (
    built === null ||
    !existsSync(fromRoot('dist/server/cli/main.js')) ||
    BUILT_FROM.some((path) => newest(path) > built)
  );
}

/** Builds the pages and the server into dist/. */
export function build() {
  const startedAt = new Date(); // what changes while it builds is newer than this stamp
  if (existsSync(fromRoot('web/vite.config.ts'))) {
    say('building the pages');
    runTool('vite/bin/vite.js', ['build', '-c', 'web/vite.config.ts', '--logLevel', 'warn']);
  }
  say('building the server');
  runTool('typescript/bin/tsc', ['-p', 'server/tsconfig.json']);
  const stamp = fromRoot('dist/.built');
  writeFileSync(stamp, '');
  utimesSync(stamp, startedAt, startedAt);
}

/** Runs `step` while no other process does: two installs at once would ruin each other. */
function alone(step) {
  mkdirSync(fromRoot('dist'), { recursive: true });
  const lock = fromRoot('dist/.preparing');
  for (let said = false; !take(lock); said = true) {
    if (!said) say('another process is installing or building here: waiting for it');
    Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, 500);
  }
  const giveBack = () => rmSync(lock, { force: true });
  process.once('exit', giveBack);
  try {
    step();
  } finally {
    giveBack();
    process.removeListener('exit', giveBack);
  }
}

function take(lock) {
  try {
    writeFileSync(lock, String(process.pid), { flag: 'wx' });
    return true;
  } catch (error) {
    if (error.code !== 'EEXIST') throw error;
  }
  if (isAlive(lock)) return false;
  rmSync(lock, { force: true });
  return take(lock);
}

function isAlive(lock) {
  try {
    const pid = Number(readFileSync(lock, 'utf8'));
    if (pid === 0) return Date.now() - statSync(lock).mtimeMs < 5000; // made, not yet written
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return error.code === 'EPERM';
  }
}

/** The newest change in a file or folder, in ms; -Infinity where there is none. */
function newest(path) {
  const url = fromRoot(path);
  if (!existsSync(url)) return Number.NEGATIVE_INFINITY;
  const found = statSync(url);
  if (!found.isDirectory()) return found.mtimeMs;
  const within = readdirSync(url).filter((name) => name !== 'node_modules');
  return Math.max(found.mtimeMs, ...within.map((name) => newest(join(path, name))));
}

function changedAt(path) {
  const url = fromRoot(path);
  return existsSync(url) ? statSync(url).mtimeMs : null;
}

/** Runs a package's own program with this Node. */
function runTool(program, args) {
  run(process.execPath, [fileURLToPath(fromRoot(`node_modules/${program}`)), ...args]);
}

function run(program, args) {
  const done = spawnSync(program, args, { cwd: fileURLToPath(ROOT), stdio: ['ignore', 2, 2] });
  if (done.error) throw new Error(`${program} could not be started: ${done.error.message}`);
  if (done.status !== 0) throw new Error(`${[program, ...args].join(' ')} failed`);
}

export function say(text) {
  console.error(`upwind: ${text}`);
}
