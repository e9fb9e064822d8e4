#!/usr/bin/env node
// The command `upwind`: in a clone it installs and builds what is missing, then runs the command in this process.
import { whyTooOld } from './node-version.mjs';

var tooOld = whyTooOld(process.versions.node);
if (tooOld) {
  console.error(tooOld);
  process.exit(1);
}
import('./prepare.mjs')
  .then((boot) => {
    boot.prepare();
    return import(boot.fromRoot('dist/server/cli/main.js').href);
  })
  .catch((error) => {
    console.error(`upwind: ${error.message}`);
    process.exit(1);
  });
