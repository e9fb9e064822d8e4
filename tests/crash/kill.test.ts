/**
 * The process is killed at any moment of a load and started again: what was answered `stored` is there once, in
 * order, with its cursor. The page cache outlives a process, so this tests atomicity and order; that an answer
 * waits for the disk is tested in sync.test.ts. TORTURE=1 makes it a hundred kills.
 */
import { describe, expect, it } from 'vitest';
import { verifyFile } from '../../server/journal/verify.ts';
import { relayAnswer } from '../../shared/protocol/frames.ts';
import { packetsAnswer } from '../../shared/protocol/packet.ts';
import { expectSameBoard } from '../support/fold-board.ts';
import { currentJournal, journalFiles, readJournal } from '../support/journal-files.ts';
import { openSocket, type RunningPost, runServer } from '../support/run-server.ts';
import { postPackets, sample } from '../support/sample-packets.ts';

const KILLS = process.env['TORTURE'] === '1' ? 100 : 15;
const WRITERS = 8;
const seed = Number(process.env['SEED'] ?? Math.floor(Math.random() * 2 ** 31));

type Acked = { readonly key: string; readonly cursor: number };

describe('killed at any moment', () => {
  it(`keeps what it answered, ${KILLS} times (SEED=${seed})`, { timeout: KILLS * 12_000 }, async () => {
    console.info(`kills with SEED=${seed}`);
    const random = mulberry32(seed);
    let post = await runServer();
    const token = await post.token('R1');
    const viewer = await post.viewerToken();
    const acked: Acked[] = [];
    for (let life = 1; life <= KILLS; life += 1) {
      const from = acked.length;
      await loadUntilKilled(post, token, life, 30 + random() * 500, random, acked);
      const verified = verifyFile(currentJournal(post.dataDir));
      expect(verified).toMatchObject({ ok: true });
      expectAllThere(post.dataDir, acked.slice(from));
      post = await runServer({ dataDir: post.dataDir });
      await expectSameBoard(post, viewer);
    }
    console.info(`${acked.length} packets were answered stored`);
    expect(acked.length).toBeGreaterThan(KILLS * 20);
    expectAllThere(post.dataDir, acked);
    expect(await post.stop()).toBe(0);
    for (const file of journalFiles(post.dataDir)) expect(verifyFile(file)).toMatchObject({ ok: true });
  });
});

async function loadUntilKilled(
  post: RunningPost,
  token: string,
  life: number,
  afterMs: number,
  random: () => number,
  acked: Acked[],
) {
  let alive = true;
  const note = (
    packets: readonly { monitor: string; boot: string; seq: number }[],
    results: readonly { status: string; cursor?: number | undefined }[],
  ) => {
    for (const [i, result] of results.entries()) {
      const packet = packets[i];
      expect(result.status).toBe('stored');
      if (packet !== undefined)
        acked.push({ key: `${packet.monitor} ${packet.boot} ${packet.seq}`, cursor: result.cursor ?? -1 });
    }
  };
  const batch = (name: string, seq: number, size: number) =>
    Array.from({ length: size }, (_, i) =>
      sample(name, seq + i, { boot: `life-${life}`, status: { help: (seq + i) % 7 === 0, motion: 'moving' } }),
    );
  const writers = Array.from({ length: WRITERS }, async (_, w) => {
    for (let seq = 0; alive; ) {
      const packets = batch(`W-${w}`, seq, w % 2 === 0 ? 1 : 10 + Math.floor(random() * 91));
      seq += packets.length;
      const answer = await postPackets(post, token, packets).catch(() => null);
      if (answer === null) return;
      expect(answer.status).toBe(200);
      note(packets, packetsAnswer.parse(answer.body).results);
    }
  });
  const stream = (async () => {
    const relay = await openSocket(post, '/api/v1/relay', { authorization: `Bearer ${token}` });
    const sent = new Map<number, ReturnType<typeof batch>>();
    relay.socket.on('message', (data) => {
      const { id, results } = relayAnswer.parse(JSON.parse(String(data)));
      note(sent.get(Number(id)) ?? [], results ?? []);
    });
    let id = 0;
    const pump = setInterval(() => {
      id += 1;
      const packets = batch('W-S', id * 20, 20);
      sent.set(id, packets);
      relay.socket.send(JSON.stringify({ id, packets }), () => undefined);
    }, 5);
    await relay.closed;
    clearInterval(pump);
  })();
  await new Promise((resolve) => setTimeout(resolve, afterMs)); // the random moment itself, nothing is waited for
  await post.kill('SIGKILL');
  alive = false;
  await Promise.all([...writers, stream]);
}

/** Every answered packet is in one of the files under its cursor; no file holds a packet twice; cursors have no hole. */
function expectAllThere(dataDir: string, acked: readonly Acked[]): void {
  const places = new Map<string, Set<number>>();
  for (const file of journalFiles(dataDir)) {
    const own = new Set<string>();
    for (const [i, record] of readJournal(file).entries()) {
      if (record.cursor !== i + 1) throw new Error(`${file}: record ${i + 1} has cursor ${record.cursor}`);
      if (record.kind !== 'packet') continue;
      const key = `${record.packet.monitor} ${record.packet.boot} ${record.packet.seq}`;
      if (own.has(key)) throw new Error(`${key} is twice in ${file}`);
      own.add(key);
      const known = places.get(key) ?? new Set();
      places.set(key, known.add(record.cursor));
    }
  }
  expect(acked.filter(({ key, cursor }) => places.get(key)?.has(cursor) !== true)).toEqual([]);
}

/** A small seeded generator (mulberry32, public domain). */
function mulberry32(from: number): () => number {
  let state = from;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296;
  };
}
