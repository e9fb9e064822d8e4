import { spawnSync } from 'node:child_process';
import { closeSync, mkdirSync, openSync, readFileSync, rmSync, statSync, writeFileSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it, onTestFinished } from 'vitest';
import { openJournal } from '../../server/journal/sqlite-journal.ts';
import { verifyFile } from '../../server/journal/verify.ts';
import { packetsAnswer } from '../../shared/protocol/packet.ts';
import { boardOf, expectSameBoard } from '../support/fold-board.ts';
import { currentJournal, journalFiles, readJournal } from '../support/journal-files.ts';
import { freshFolder, openSocket, type RunningPost, runServer, send, until } from '../support/run-server.ts';
import { postPackets, sample } from '../support/sample-packets.ts';

const calls = (seq: number) => ({ status: { help: seq % 5 === 0, motion: 'moving', pump: 'running' } });
async function load(post: RunningPost, token: string, boot: string, count = 200): Promise<void> {
  for (const monitor of ['R-1', 'R-2', 'R-3']) {
    const body = Array.from({ length: count }, (_, seq) => sample(monitor, seq, { boot, ...calls(seq) }));
    expect((await postPackets(post, token, body)).status).toBe(200);
  }
}

describe('a start', () => {
  it('from a checkpoint and the rest gives what a fold from the beginning gives; no checkpoint is needed', async () => {
    let post = await runServer();
    const token = await post.token('R1');
    const viewer = await post.viewerToken();
    await load(post, token, 'b1');
    const officer = await post.staff('officer');
    await officer.send('POST', '/api/v1/commands', {
      id: 'a',
      type: 'assign',
      monitor: 'R-1',
      entrant: 'E1-A',
      team: 'Entry 1',
    });
    expect(await post.stop()).toBe(0);
    const checkpoints = `${currentJournal(post.dataDir)}.checkpoints`;
    expect(statSync(checkpoints).size).toBeGreaterThan(10_000);
    const again = async () => {
      post = await runServer({ dataDir: post.dataDir });
      await expectSameBoard(post, viewer);
      expect(await boardOf(post, viewer)).toMatchObject({
        recording: { ok: true },
        people: [{ name: 'E1-A', monitor: 'R-1' }],
      });
    };
    await again(); // from the checkpoint
    await load(post, token, 'b2');
    await post.kill('SIGKILL');
    await again(); // from the checkpoint and the rest
    await post.kill('SIGKILL');
    for (const end of ['', '-wal', '-shm']) rmSync(`${checkpoints}${end}`, { force: true });
    await again();
    await post.stop();
    writeFileSync(checkpoints, 'no database at all');
    await again();
    await post.stop();
    const file = openSync(checkpoints, 'r+');
    for (let at = 4096; at < statSync(checkpoints).size; at += 512) writeSync(file, Buffer.from([0xff]), 0, 1, at);
    closeSync(file);
    await again();
    const gaps = readJournal(currentJournal(post.dataDir)).filter(({ kind }) => kind === 'gap');
    expect(gaps).toHaveLength(5);
    expect(gaps[0]).toMatchObject({ cause: 'restart', judgedBy: 'boot-clock' });
    expect(verifyFile(currentJournal(post.dataDir))).toMatchObject({ ok: true });
  });

  it('labels its times by the wall clock, before and after a restart', async () => {
    let post = await runServer();
    const token = await post.token('R1');
    const viewer = await post.viewerToken();
    const near = async () => {
      const answer = packetsAnswer.parse(
        (await postPackets(post, token, sample('T-1', Math.floor(performance.now() * 1000)))).body,
      );
      const now = await boardOf(post, viewer);
      for (const time of [answer.postTime, now.at, now.monitors[0]?.lastHeardAt ?? '']) {
        expect(Math.abs(Date.parse(time) - Date.now())).toBeLessThan(5_000);
      }
    };
    await near();
    await post.kill('SIGKILL');
    post = await runServer({ dataDir: post.dataDir });
    await near();
  });

  it('on a folder that another server holds ends with one line', async () => {
    const post = await runServer();
    const second = await runServer({ dataDir: post.dataDir }).catch((error: Error) => error.message);
    expect(second).toMatch(/^it ended with 1: upwind: \S+ is in use by another Upwind \(process \d+\)\n$/);
    expect(second).toContain(`(process ${post.pid})`);
    expect((await send(post, 'GET', '/healthz')).status).toBe(200);
  });

  it('after a close that was cut off begins standby, not the closed incident again', async () => {
    let post = await runServer();
    const viewer = await post.viewerToken();
    const commander = await post.staff('commander');
    await commander.send('POST', '/api/v1/commands', { id: 'o', type: 'incident-open', name: 'Cut' });
    const file = currentJournal(post.dataDir);
    await post.stop();
    const journal = openJournal(file);
    journal.append([{ kind: 'closed', by: 'commander-1', at: journal.head().at + 1 }]);
    journal.close();
    post = await runServer({ dataDir: post.dataDir });
    const now = await until('standby', async () => {
      const seen = await boardOf(post, viewer);
      return seen.journal.purpose === 'standby' ? seen : null;
    });
    expect(now.incident).toBeNull();
    expect(currentJournal(post.dataDir)).not.toBe(file);
  });
});

describe('SIGTERM under load', () => {
  it('answers what came in, closes the sockets, keeps all that was answered, and ends with 0 within 5 s', async () => {
    const post = await runServer();
    const token = await post.token('R1');
    const viewer = await post.viewerToken();
    const headers = { authorization: `Bearer ${viewer}` };
    const screens = await Promise.all([1, 2].map(() => openSocket(post, '/api/v1/live', headers)));
    screens[0]?.socket.pause(); // one that does not read must not hold up the end
    const relay = await openSocket(post, '/api/v1/relay', { authorization: `Bearer ${token}` });
    const acked: string[] = [];
    const cut: string[] = [];
    let streamed = 0;
    relay.socket.on('message', (data) => {
      const { id, results } = JSON.parse(String(data));
      if (results?.[0]?.status === 'stored') acked.push(`S ${id}`);
    });
    const pump = setInterval(() => {
      streamed += 1;
      relay.socket.send(JSON.stringify({ id: streamed, packets: [sample('S', streamed)] }), () => undefined);
    }, 2);
    const writers = Array.from({ length: 8 }, async (_, w) => {
      for (let seq = 0; ; seq += 1) {
        const answer = await postPackets(post, token, sample(`W-${w}`, seq)).catch(() => null);
        if (answer === null) return;
        if (answer.status === 200) acked.push(`W-${w} ${seq}`);
        else cut.push(String(answer.status));
      }
    });
    await until('a load', () => acked.length > 400);
    const asked = performance.now();
    expect(await post.stop()).toBe(0);
    expect(performance.now() - asked).toBeLessThan(5_000);
    clearInterval(pump);
    await Promise.all(writers);
    expect(await relay.closed).toBe(1001);
    expect(cut.every((status) => status === '503')).toBe(true);
    const held = new Set(
      journalFiles(post.dataDir)
        .flatMap(readJournal)
        .flatMap((r) => (r.kind === 'packet' ? [`${r.packet.monitor} ${r.packet.seq}`] : [])),
    );
    expect(acked.filter((key) => !held.has(key))).toEqual([]);
  });
});

const mounted = spawnSync('sh', [
  '-c',
  'd=$(mktemp -d) && mount -t tmpfs -o size=1m tmpfs "$d" && umount "$d"; s=$?; rmdir "$d"; exit $s',
]);
const noMount = mounted.status !== 0;
if (noMount) console.warn('not run: a full disk (nothing can be mounted here)');

describe.skipIf(noMount)(`a full disk${noMount ? ' (not run: nothing can be mounted here)' : ''}`, () => {
  it('stops acknowledging, not watching; goes on by itself, and no alarm leaves the board meanwhile', {
    timeout: 60_000,
  }, async () => {
    const folder = freshFolder();
    expect(spawnSync('mount', ['-t', 'tmpfs', '-o', 'size=8m', 'tmpfs', folder]).status).toBe(0);
    const unmount = () => void spawnSync('umount', ['-l', folder]);
    onTestFinished(unmount);
    const dataDir = join(folder, 'data');
    mkdirSync(dataDir);
    let post = await runServer({ dataDir });
    const token = await post.token('R1');
    const viewer = await post.viewerToken();
    const commander = await post.staff('commander');
    await commander.send('POST', '/api/v1/commands', { id: 'o', type: 'incident-open', name: 'Full' });
    await load(post, token, 'b1', 20);
    const filler = join(folder, 'filler');
    const fill = () => {
      const file = openSync(filler, 'a');
      try {
        for (const size of [65_536, 4_096, 1]) {
          try {
            for (;;) writeSync(file, Buffer.alloc(size));
          } catch {
            // full for this size
          }
        }
      } finally {
        closeSync(file);
      }
    };
    fill();
    const acked: number[] = [];
    let seq = 0;
    const next = () => {
      seq += 1;
      return seq;
    };
    const refused = await until('it says that it cannot record', async () => {
      seq += 1;
      const answer = await postPackets(post, token, sample('F-1', seq, { pad: 'x'.repeat(3_000) }));
      if (answer.status !== 200) return answer;
      acked.push(seq);
      return null;
    });
    expect(refused).toMatchObject({ status: 503, body: { error: { code: 'full' } } });
    expect(Number(refused.headers.get('retry-after'))).toBeGreaterThan(0);
    expect((await boardOf(post, viewer)).recording).toMatchObject({
      ok: false,
      words: expect.stringContaining('Not being recorded'),
    });
    expect((await send(post, 'GET', '/healthz')).status).toBe(503);
    const note = await commander.send('POST', '/api/v1/commands', { id: 'n', type: 'note', text: 'full' });
    expect(note.status).toBe(503);
    expect((await commander.send('POST', '/api/v1/commands', { id: 'n', type: 'note', text: 'full' })).status).toBe(
      503,
    );
    expect((await commander.send('POST', '/api/v1/commands', { id: 'c', type: 'incident-close' })).status).toBe(503);
    // The watch goes on: what is heard raises its alarm, though nothing of it is acknowledged.
    const danger = sample('F-2', 1, { readings: { h2s: { value: 120, unit: 'ppm' } } });
    expect((await postPackets(post, token, danger)).status).toBe(503);
    const isThere = async () =>
      (await boardOf(post, viewer)).alarms.some(({ monitor, priority }) => monitor === 'F-2' && priority === 'danger');
    expect(await isThere()).toBe(true);
    rmSync(filler);
    const screen = await openSocket(post, '/api/v1/live', { authorization: `Bearer ${viewer}` });
    await until(
      'it records again',
      async () => {
        expect(await isThere()).toBe(true);
        return (await send(post, 'GET', '/healthz')).status === 200;
      },
      15_000,
    );
    for (let i = 0; i < 20; i += 1) expect(await isThere()).toBe(true);
    for (const raw of screen.frames) {
      const text = JSON.stringify(raw);
      if (text.startsWith('{"type":"snapshot"')) expect(text).toContain('"monitor":"F-2"');
      if (text.startsWith('{"type":"delta"')) expect(text).not.toMatch(/"ended":\["F-2/);
    }
    screen.socket.close();
    expect((await boardOf(post, viewer)).recording).toEqual({ ok: true });
    expect((await postPackets(post, token, danger)).body).toMatchObject({ results: [{ status: 'stored' }] });
    expect(
      (await commander.send('POST', '/api/v1/commands', { id: 'n', type: 'note', text: 'full' })).body,
    ).toMatchObject({ status: 'done' });
    const records = readJournal(currentJournal(dataDir));
    expect(records.filter((r) => r.kind === 'gap')).toMatchObject([{ cause: 'not-recording' }]);
    const held = new Set(
      records.flatMap((r) => (r.kind === 'packet' && r.packet.monitor === 'F-1' ? [r.packet.seq] : [])),
    );
    expect(acked.filter((n) => !held.has(n))).toEqual([]);
    expect(verifyFile(currentJournal(dataDir))).toMatchObject({ ok: true });
    await expectSameBoard(post, viewer);

    // Started on a full disk it comes up and watches as well.
    await post.kill('SIGKILL');
    fill();
    post = await runServer({ dataDir });
    expect((await boardOf(post, viewer)).alarms.map(({ monitor }) => monitor)).toContain('F-2');
    await until(
      'it notices',
      async () =>
        (
          await postPackets(
            post,
            token,
            sample('F-3', next(), { pad: 'x'.repeat(3_000), readings: { h2s: { value: 120, unit: 'ppm' } } }),
          )
        ).status === 503,
    );
    rmSync(filler);
    await until(
      'it records again',
      async () => (await postPackets(post, token, sample('F-3', next()))).status === 200,
      15_000,
    );
    expect((await boardOf(post, viewer)).alarms.map(({ monitor }) => monitor)).toEqual(
      expect.arrayContaining(['F-2', 'F-3']),
    );
    expect(await post.stop()).toBe(0);
    expect(verifyFile(currentJournal(dataDir))).toMatchObject({ ok: true });
  });
});

const immutable = spawnSync('sh', ['-c', 'f=$(mktemp) && chattr +i "$f" && chattr -i "$f"; s=$?; rm -f "$f"; exit $s']);
const noChattr = immutable.status !== 0;
if (noChattr) console.warn('not run: a journal that cannot be written (chattr is refused here)');

describe.skipIf(noChattr)(
  `a journal that cannot be written${noChattr ? ' (not run: chattr is refused here)' : ''}`,
  () => {
    it.each(['SIGTERM', 'SIGKILL'] as const)(
      'is watched from memory, and recorded again as soon as it can be (after %s)',
      async (end) => {
        let post = await runServer();
        const token = await post.token('R1');
        const viewer = await post.viewerToken();
        await load(post, token, 'b1', 20);
        await until('an incident opened by itself', async () => (await boardOf(post, viewer)).incident !== null);
        const file = currentJournal(post.dataDir);
        await post.kill(end);
        const set = (flag: '+i' | '-i') => expect(spawnSync('chattr', [flag, file]).status).toBe(0);
        set('+i');
        onTestFinished(() => void spawnSync('chattr', ['-i', file]));
        const before = statSync(file);
        post = await runServer({ dataDir: post.dataDir });
        let now = await boardOf(post, viewer);
        expect(now.recording).toMatchObject({ ok: false });
        expect(now.incident).not.toBeNull();
        expect(now.monitors.map(({ id }) => id)).toEqual(['R-1', 'R-2', 'R-3']);
        expect((await send(post, 'GET', '/healthz')).status).toBe(503);
        const danger = sample('Q-1', 1, { readings: { h2s: { value: 120, unit: 'ppm' } } });
        expect(await postPackets(post, token, danger)).toMatchObject({ status: 503 });
        const isThere = async () => (await boardOf(post, viewer)).alarms.some(({ monitor }) => monitor === 'Q-1');
        expect(await isThere()).toBe(true);
        expect(statSync(file).size).toBe(before.size);
        set('-i');
        await until(
          'it records',
          async () => {
            expect(await isThere()).toBe(true);
            return (await send(post, 'GET', '/healthz')).status === 200;
          },
          15_000,
        );
        expect(await isThere()).toBe(true);
        expect(await postPackets(post, token, danger)).toMatchObject({
          status: 200,
          body: { results: [{ status: 'stored' }] },
        });
        now = await boardOf(post, viewer);
        expect(now.recording).toEqual({ ok: true });
        await expectSameBoard(post, viewer);
        expect(readJournal(file).filter((r) => r.kind === 'gap')).toMatchObject([{ cause: 'not-recording' }]);
        expect(await post.stop()).toBe(0);
        expect(verifyFile(file)).toMatchObject({ ok: true });
        expect(readFileSync(file).length).toBeGreaterThan(0);
      },
    );

    it('that is damaged is left as it is and the post watches all the same', async () => {
      let post = await runServer();
      const token = await post.token('R1');
      const viewer = await post.viewerToken();
      await load(post, token, 'b1', 20);
      await post.stop();
      const file = currentJournal(post.dataDir);
      writeFileSync(file, 'this is no journal');
      post = await runServer({ dataDir: post.dataDir });
      expect((await boardOf(post, viewer)).recording).toMatchObject({ ok: false });
      expect((await postPackets(post, token, sample('Q-2', 1, { status: { help: true } }))).status).toBe(503);
      expect((await boardOf(post, viewer)).alarms).toMatchObject([{ monitor: 'Q-2', kind: 'help' }]);
      expect(readFileSync(file, 'utf8')).toBe('this is no journal');
      expect(await post.stop()).toBe(0);
    });
  },
);
