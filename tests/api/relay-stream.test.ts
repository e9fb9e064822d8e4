import { beforeAll, describe, expect, it } from 'vitest';
import { askServer } from '../../server/cli/control-socket.ts';
import { board } from '../../shared/protocol/board.ts';
import { relayAnswer } from '../../shared/protocol/frames.ts';
import { openSocket, type RunningPost, runServer, type Socket, send } from '../support/run-server.ts';
import { postPackets, sample } from '../support/sample-packets.ts';

let post: RunningPost;
let token: string;
beforeAll(async () => {
  post = await runServer();
  token = await post.token('R1');
});

const open = (): Promise<Socket> => openSocket(post, '/api/v1/relay', { authorization: `Bearer ${token}` });

/** The answer with that id. */
function answered(relay: Socket, id: string | number | null) {
  return relay.next((frame) => {
    const answer = relayAnswer.parse(frame);
    return answer.id === id ? answer : null;
  });
}

function give(relay: Socket, frame: unknown): void {
  relay.socket.send(typeof frame === 'string' || Buffer.isBuffer(frame) ? frame : JSON.stringify(frame));
}

describe('the relay stream', () => {
  it('answers each frame by its id, in the order sent, on the same path as HTTP', async () => {
    const relay = await open();
    for (let i = 0; i < 200; i += 1) give(relay, { id: i, packets: [sample('S-1', i), { bad: 1 }] });
    const last = await answered(relay, 199);
    expect(last.results?.map(({ status }) => status)).toEqual(['stored', 'rejected']);
    const all = relay.frames.map((frame) => relayAnswer.parse(frame));
    expect(all.map(({ id }) => id)).toEqual(Array.from({ length: 200 }, (_, i) => i));
    const cursors = all.map(({ results }) => results?.[0]?.cursor ?? 0);
    expect(cursors).toEqual([...cursors].sort((a, b) => a - b));
    // What the stream stored, HTTP knows, and the other way round.
    const again = await postPackets(post, token, [sample('S-1', 7), sample('S-2', 1)]);
    expect(again.body).toMatchObject({ results: [{ status: 'duplicate', cursor: cursors[7] }, { status: 'stored' }] });
    give(relay, { id: 'text', packets: [sample('S-2', 1), sample('S-2', 1, { readings: {} })] });
    expect((await answered(relay, 'text')).results).toMatchObject([
      { status: 'duplicate' },
      { status: 'rejected', error: { code: 'conflict' } },
    ]);
    relay.socket.close();
  });

  it('answers a bad frame with its error and goes on', async () => {
    const relay = await open();
    const bad: [unknown, number | string | null, string][] = [
      ['{', null, 'not-json'],
      ['null', null, 'frame-invalid'],
      [{ packets: [] }, null, 'frame-invalid'],
      [{ id: 1.5, packets: {} }, null, 'frame-invalid'],
      [{ id: null, packets: [] }, null, 'frame-invalid'],
      [{ id: 'many', packets: Array(1001).fill(0) }, 'many', 'too-many'],
      [Buffer.from('{"id":1,"packets":[]}'), null, 'not-json'],
    ];
    for (const [i, [frame, id, code]] of bad.entries()) {
      give(relay, frame);
      const answer = await relay.next((got) => relayAnswer.parse(got), { from: i });
      expect([answer.id, answer.error?.code, answer.results]).toEqual([id, code, undefined]);
    }
    give(relay, { id: 'good', packets: [sample('S-3', 1)] });
    expect((await answered(relay, 'good')).results).toMatchObject([{ status: 'stored' }]);
    relay.socket.close();
  });

  it('takes a frame of nearly 1 MiB, and closes on a larger one without harm to others', async () => {
    const relay = await open();
    const other = await open();
    const pad = (bytes: number) =>
      JSON.stringify({ id: 'big', packets: [sample('S-4', 1, { pad: 'x'.repeat(bytes) })] });
    give(relay, pad(1024 * 1024 - 1000));
    expect((await answered(relay, 'big')).results).toMatchObject([{ status: 'stored' }]);
    give(relay, pad(1024 * 1024));
    expect(await relay.closed).toBe(1009); // RFC 6455 7.4.1: message too big
    give(other, { id: 'still', packets: [sample('S-4', 2)] });
    expect((await answered(other, 'still')).results).toMatchObject([{ status: 'stored' }]);
    other.socket.close();
  });

  it('shows the relay by the name of its token', async () => {
    const answer = await send(post, 'GET', '/api/v1/board', {
      headers: { authorization: `Bearer ${await post.viewerToken()}` },
    });
    expect(board.parse(answer.body).relays.map(({ name }) => name)).toEqual(['R1']);
  });

  it('ends at once when its token is revoked', async () => {
    const relay = await open();
    give(relay, { id: 1, packets: [sample('S-5', 1)] });
    await answered(relay, 1);
    expect(await askServer(post.dataDir, 'token-revoke', { name: 'R1' })).toMatchObject({ ok: true });
    expect(await relay.closed).toBeGreaterThan(1000);
    const stored = await postPackets(post, token, sample('S-5', 2));
    expect(stored.status).toBe(401);
  });
});
