/**
 * An answer waits for the disk: between the arrival of a packet and its acknowledgement lies at least one sync of
 * the journal's write-ahead log, seen from outside by strace. SQLite falls to synchronous=NORMAL in WAL mode when it
 * is not told otherwise, and then a power cut takes what was answered; killing the process would never show it.
 */
import { spawnSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { packetsAnswer } from '../../shared/protocol/packet.ts';
import { freshFolder, PROGRAM, runServer } from '../support/run-server.ts';
import { postPackets, sample } from '../support/sample-packets.ts';

/** Calls that take a request in, write an answer out, or sync. */
const CALLS = 'trace=fsync,fdatasync,sync_file_range,read,readv,recvfrom,recvmsg,write,writev,sendto,sendmsg';

function whyNoStrace(): string | null {
  const tried = spawnSync('strace', ['-f', '-e', 'trace=fsync', 'true'], { encoding: 'utf8' });
  if (tried.error !== undefined) return 'not run: no strace here';
  return tried.status === 0 ? null : `not run: strace is refused (${tried.stderr.trim().split('\n').at(-1)})`;
}
const reason = whyNoStrace();
if (reason !== null) console.warn(reason);

type Traced = {
  readonly requests: number;
  readonly answers: number;
  readonly syncs: number;
  readonly tooEarly: number;
};

/**
 * Reads a trace: the syncs of `-wal` files, the answers that say `stored`, and how many of them were written although
 * no sync had ended since the first request that was not answered yet.
 */
function readTrace(text: string): Traced {
  let requests = 0;
  let answers = 0;
  let syncs = 0;
  let tooEarly = 0;
  let open = 0;
  let syncedSince = false;
  const unfinished = new Set<string>();
  for (const line of text.split('\n')) {
    const thread = /^(\d+)\s/.exec(line)?.[1] ?? '';
    const isSync = /(fsync|fdatasync)\(\d+<[^>]*-wal>/.test(line);
    if (isSync && line.includes('<unfinished')) unfinished.add(thread);
    else if (
      (isSync && / = 0$/.test(line)) ||
      (unfinished.has(thread) && /<\.\.\. (fsync|fdatasync) resumed>.* = 0$/.test(line))
    ) {
      unfinished.delete(thread);
      syncs += 1;
      syncedSince = true;
    } else if (/(read|readv|recvfrom|recvmsg)\b.*POST \/api\/v1\/packets/.test(line)) {
      requests += 1;
      if (open === 0) syncedSince = false;
      open += 1;
    } else if (/(write|writev|sendto|sendmsg)\(.*\\"status\\":\\"stored\\"/.test(line)) {
      answers += 1;
      if (!syncedSince) tooEarly += 1;
      open -= 1;
      if (open > 0) syncedSince = true;
    }
  }
  return { requests, answers, syncs, tooEarly };
}

describe.skipIf(reason !== null)(`an answer waits for the disk${reason === null ? '' : ` (${reason})`}`, () => {
  const COUNT = 200;

  it('for each of 200 packets sent one after the other', { timeout: 60_000 }, async () => {
    const trace = join(freshFolder(), 'trace');
    // -y names the file of each descriptor, -s shows enough of what is sent to know it.
    const post = await runServer({ under: ['strace', '-f', '-y', '-s', '600', '-o', trace, '-e', CALLS] });
    const token = await post.token('R1');
    for (let seq = 0; seq < COUNT; seq += 1) {
      const answer = await postPackets(post, token, sample('Y-1', seq));
      expect(packetsAnswer.parse(answer.body).results[0]?.status).toBe('stored');
    }
    await post.stop();
    const seen = readTrace(readFileSync(trace, 'utf8'));
    expect(seen.requests).toBeGreaterThanOrEqual(COUNT);
    expect(seen.answers).toBe(COUNT);
    expect(seen.tooEarly).toBe(0);
    expect(seen.syncs).toBeGreaterThanOrEqual(COUNT);
  });

  it('and the same count finds out a journal whose syncs are turned off', { timeout: 60_000 }, async () => {
    const counts = new Map<string, number>();
    for (const synchronous of ['FULL', 'OFF'] as const) {
      const folder = freshFolder();
      const program = join(folder, 'append.mjs');
      const journal = new URL('../journal/sqlite-journal.js', `file://${PROGRAM}`).href;
      writeFileSync(
        program,
        `import { openJournal } from ${JSON.stringify(journal)};
const journal = openJournal(${JSON.stringify(join(folder, 'j.db'))}, { create: { epoch: 'e' }, synchronous: '${synchronous}' });
for (let i = 1; i <= ${COUNT}; i += 1) journal.append([{ kind: 'command', id: 'c' + i, by: 'b', role: 'officer', act: { type: 'note', text: 'n' }, at: i }]);
journal.close();
`,
      );
      const trace = join(folder, 'trace');
      const ran = spawnSync('strace', ['-f', '-y', '-o', trace, '-e', CALLS, process.execPath, program], {
        encoding: 'utf8',
      });
      expect([ran.status, ran.stderr]).toEqual([0, '']);
      counts.set(synchronous, readTrace(readFileSync(trace, 'utf8')).syncs);
    }
    expect(counts.get('FULL')).toBeGreaterThanOrEqual(COUNT);
    expect(counts.get('OFF')).toBeLessThan(10);
  });

  it('one sync serves a whole group', { timeout: 60_000 }, async () => {
    const trace = join(freshFolder(), 'trace');
    const post = await runServer({ under: ['strace', '-f', '-y', '-s', '600', '-o', trace, '-e', CALLS] });
    const token = await post.token('R1');
    const before = readTrace(readFileSync(trace, 'utf8')).syncs;
    const batch = Array.from({ length: 1000 }, (_, seq) => sample('Y-2', seq));
    const answer = await postPackets(post, token, batch);
    expect(packetsAnswer.parse(answer.body).results.every(({ status }) => status === 'stored')).toBe(true);
    await post.stop();
    const seen = readTrace(readFileSync(trace, 'utf8'));
    expect(seen.tooEarly).toBe(0);
    expect(seen.syncs - before).toBeLessThan(40);
  });
});
