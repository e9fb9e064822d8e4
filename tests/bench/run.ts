/**
 * `npm run bench [-- --full]`: what the post does, as ratios against bare baselines in the same run, taken in turns
 * (A B A B). Prints a table and writes it as JSON to `data-bench/`. Asserts nothing: these are measurements.
 */
import { execFileSync } from 'node:child_process';
import { mkdirSync, writeFileSync } from 'node:fs';
import { cpus } from 'node:os';
import { fileURLToPath } from 'node:url';
import { createMaker } from './packets.ts';
import { measurePage } from './page.ts';
import { startPost, startScript } from './processes.ts';
import { measureRequests } from './requests.ts';

const full = process.argv.includes('--full');
const smoke = process.argv.includes('--smoke');
const rounds = full ? 7 : smoke ? 1 : 3;
const seconds = full ? 8 : smoke ? 1 : 4;
const here = (script: string) => fileURLToPath(new URL(script, import.meta.url));

type Row = { what: string; ours: string; bare: string; ratio: string; spread: string; aim: string };
const rows: Row[] = [];

async function inTurns(ours: () => Promise<number>, bare: () => Promise<number>) {
  const pairs: { ours: number; bare: number }[] = [];
  for (let i = 0; i < rounds; i += 1) pairs.push({ ours: await ours(), bare: await bare() });
  const ratios = pairs.map((pair) => pair.ours / pair.bare).sort((a, b) => a - b);
  const median = (list: number[]) => [...list].sort((a, b) => a - b)[Math.floor(list.length / 2)] ?? Number.NaN;
  return {
    ours: `${Math.round(median(pairs.map((p) => p.ours)))}/s`,
    bare: `${Math.round(median(pairs.map((p) => p.bare)))}/s`,
    ratio: median(ratios).toFixed(2),
    spread: `${(ratios[0] ?? Number.NaN).toFixed(2)}–${(ratios.at(-1) ?? Number.NaN).toFixed(2)}`,
  };
}

function say(line: string): void {
  process.stderr.write(`bench: ${line}\n`);
}

say('single packets over HTTP, 64 connections');
const post = await startPost();
const bare = await startScript('tests/bench/bare-route.js', []);
let run = 0;
const single = (url: string) => async () => {
  run += 1;
  const maker = createMaker(`s${run}`, 100);
  const load = await measureRequests({ url, token: post.token, seconds, connections: 64, body: maker.next });
  if (load.failed > 0) say(`${load.failed} requests failed`);
  return load.rate;
};
rows.push({
  what: 'one packet a request, durable and folded / bare route',
  ...(await inTurns(single(post.url), single(bare.url))),
  aim: '0.6, aim 0.8',
});
await bare.stop();

say('batches of 100');
const batches = async () => {
  run += 1;
  const maker = createMaker(`b${run}`, 100);
  const load = await measureRequests({
    url: post.url,
    token: post.token,
    seconds,
    connections: 8,
    body: () => maker.batch(100),
  });
  return load.rate * 100;
};
const inserts = async () =>
  Number(execFileSync(process.execPath, [here('./bare-inserts.js'), '100', String(seconds)], { encoding: 'utf8' }));
rows.push({ what: 'packets in batches of 100 / bare inserts', ...(await inTurns(batches, inserts)), aim: '0.4' });
await post.stop();

say('the fold alone');
const foldRate = Number(
  execFileSync(process.execPath, [here('./fold-rate.js'), '1000', smoke ? '5' : '60'], { encoding: 'utf8' }),
);
rows.push({
  what: 'pure fold, 1,000 monitors, packets a second and core',
  ours: `${foldRate}/s`,
  bare: '–',
  ratio: '–',
  spread: '–',
  aim: '100,000/s (30,000 with all rules to come)',
});

const executable = process.env.UPWIND_CHROMIUM ?? '/usr/bin/chromium';
say('the page at 200 monitors');
const page = await measurePage({ monitors: 200, seconds: smoke ? 3 : full ? 60 : 20, executable });
const figure = (what: string, value: string, aim: string) =>
  rows.push({ what, ours: value, bare: '–', ratio: '–', spread: '–', aim });
figure(
  'page, 200 monitors at 1/s: tasks over 50 ms (longest)',
  `${page.over50Ms} (${page.longestTaskMs.toFixed(0)} ms)`,
  'none',
);
figure('page: share of one core', `${page.corePercent.toFixed(1)} %`, 'under 15 %');
figure(
  'packet sent to drawn, p50 / p99',
  `${page.drawnP50Ms.toFixed(0)} / ${page.drawnP99Ms.toFixed(0)} ms`,
  'p99 under 100 ms',
);

const machine = `${cpus()[0]?.model ?? 'unknown'} × ${cpus().length}, Node ${process.version}`;
process.stdout.write(`\n${machine}\n\n| what | ours | bare | ratio | spread | to reach |\n|---|---|---|---|---|---|\n`);
for (const row of rows)
  process.stdout.write(`| ${row.what} | ${row.ours} | ${row.bare} | ${row.ratio} | ${row.spread} | ${row.aim} |\n`);
mkdirSync('data-bench', { recursive: true });
writeFileSync('data-bench/bench.json', `${JSON.stringify({ at: new Date().toISOString(), machine, rows }, null, 2)}\n`);
