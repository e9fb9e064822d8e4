// `npm test`: installs and builds as `npm start` does, finds a browser, and runs every test, or those that are named.
import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { whyTooOld } from './node-version.mjs';

const tooOld = whyTooOld(process.versions.node);
if (tooOld) {
  console.error(tooOld);
  process.exit(1);
}
const { prepare, fromRoot } = await import('./prepare.mjs');
const { findBrowser } = await import('./browser.mjs');

function runTests() {
  prepare();
  const browser = findBrowser();
  const vitest = fileURLToPath(fromRoot('node_modules/vitest/vitest.mjs'));
  const args = [vitest, 'run', '-c', 'tests/vitest.config.ts', ...process.argv.slice(2)];
  const env = browser === null ? process.env : { ...process.env, UPWIND_CHROMIUM: browser };
  // Ctrl-C reaches vitest through the terminal; this process waits for it to end.
  process.on('SIGINT', () => undefined);
  return spawnSync(process.execPath, args, { cwd: fileURLToPath(fromRoot('.')), stdio: 'inherit', env }).status ?? 1;
}

try {
  process.exitCode = runTests();
} catch (error) {
  console.error(`upwind: ${error.message}`);
  process.exitCode = 1;
}
