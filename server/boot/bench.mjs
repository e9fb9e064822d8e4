// `npm run bench`: builds the post and the benchmark, and runs it.
import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { findBrowser } from './browser.mjs';
import { fromRoot, prepare } from './prepare.mjs';

prepare();
const root = fileURLToPath(fromRoot('.'));
const step = (args, env = {}) => {
  const { status } = spawnSync(process.execPath, args, {
    cwd: root,
    stdio: 'inherit',
    env: { ...process.env, ...env },
  });
  if (status !== 0) process.exit(status ?? 1);
};
step(['node_modules/typescript/bin/tsc', '-p', 'tests/bench/tsconfig.json']);
step(['dist/tests/bench/run.js', ...process.argv.slice(2)], { UPWIND_CHROMIUM: findBrowser() ?? '' });
