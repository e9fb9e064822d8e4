/** The examples of docs/protocol.md, in their order, sent to a real post. */
import { execFile, spawnSync } from 'node:child_process';
import { promisify } from 'node:util';
import { beforeAll, describe, expect, it } from 'vitest';
import { board } from '../../shared/protocol/board.ts';
import { monitorPackets } from '../../shared/protocol/history.ts';
import { type Example, examplesOf, pairsOf } from '../support/doc-examples.ts';
import { openSocket, type RunningPost, runServer, send } from '../support/run-server.ts';

const run = promisify(execFile);
const hasCurl = spawnSync('curl', ['--version']).status === 0;
const examples = examplesOf('docs/protocol.md');

let post: RunningPost;
let token: string;
beforeAll(async () => {
  post = await runServer();
  token = await post.token('van-1');
});

function parsed(example: Example | undefined): unknown {
  if (example === undefined) throw new Error('the example is gone from docs/protocol.md');
  return JSON.parse(example.text);
}

/** An answer without what no document can know: the places in this record, and the time. */
function comparable(answer: unknown): unknown {
  const text = JSON.stringify(answer, (key, value: unknown) =>
    (key === 'cursor' && typeof value === 'number') || (key === 'postTime' && typeof value === 'string')
      ? 'some'
      : value,
  );
  return JSON.parse(text);
}

async function runShell(example: Example | undefined, secret: string): Promise<unknown> {
  if (example === undefined) throw new Error('the example is gone from docs/protocol.md');
  const { stdout } = await run('sh', ['-c', example.text], { env: { ...process.env, POST: post.url, TOKEN: secret } });
  return JSON.parse(stdout);
}

describe('docs/protocol.md against a running post', () => {
  it.skipIf(!hasCurl)('the first packet, by curl', async () => {
    const answer = await runShell(
      examples.find((e) => e.language === 'sh' && e.kind === 'run'),
      token,
    );
    expect(comparable(answer)).toEqual(comparable(parsed(examples.find((e) => e.kind === 'answer-of-run'))));
  });

  it('each packet is answered as shown', async () => {
    for (const [sent, shown] of pairsOf(examples, 'packet', 'answer')) {
      const headers = { authorization: `Bearer ${token}` };
      const answer = await send(post, 'POST', '/api/v1/packets', { headers, body: sent.text });
      expect(answer.status, `line ${sent.line}`).toBe(200);
      expect(comparable(answer.body), `line ${sent.line}`).toEqual(comparable(parsed(shown)));
    }
  });

  it('each frame of the stream is answered as shown', async () => {
    const relay = await openSocket(post, '/api/v1/relay', { authorization: `Bearer ${token}` });
    for (const [sent, shown] of pairsOf(examples, 'relay-frame', 'relay-answer')) {
      const from = relay.frames.length;
      relay.socket.send(sent.text);
      expect(comparable(await relay.next((frame) => frame, { from })), `line ${sent.line}`).toEqual(
        comparable(parsed(shown)),
      );
    }
    relay.socket.close();
    await relay.closed;
  });

  it('a refusal has the form shown', async () => {
    const example = examples.find((e) => e.kind === 'refusal');
    const answer = await send(post, 'POST', '/api/v1/packets', { body: {} });
    expect(answer.status).toBe(Number(example?.detail));
    expect(answer.body).toEqual(parsed(example));
  });

  it('the whole relay delivers what it measured, and stops where its token is wrong', async () => {
    const example = examples.find((e) => e.kind === 'run-relay');
    const args = ['--input-type=module', '--eval', example?.text ?? ''];
    const env = { ...process.env, POST: post.url, TOKEN: token, COUNT: '3', EVERY_MS: '50' };
    expect((await run(process.execPath, args, { env })).stderr).toBe('');
    const headers = { authorization: `Bearer ${await post.viewerToken()}` };
    const { body } = await send(post, 'GET', '/api/v1/monitors/M-11/packets', { headers });
    expect(monitorPackets.parse(body).packets.map((packet) => packet.seq)).toEqual([2, 1, 0]);
    const refused = run(process.execPath, args, { env: { ...env, TOKEN: 'uw_wrong' } });
    await expect(refused).rejects.toMatchObject({ code: 1, stderr: expect.stringContaining('stopped: 401') });
  });

  it.skipIf(!hasCurl)('a program reads the board, and finds in it what the examples sent', async () => {
    const reader = await post.viewerToken();
    const read = board.parse(
      await runShell(
        examples.find((e) => e.kind === 'run-viewer'),
        reader,
      ),
    );
    expect(read.monitors.map((monitor) => monitor.id)).toEqual(expect.arrayContaining(['M-07', 'M-08', 'M-09']));
    const row = read.monitors.find((monitor) => monitor.id === 'M-07');
    expect(row?.readings.lel).toMatchObject({ value: null, flag: 'over-range' });
    expect(row?.position?.usng).toBe('14TNQ6234578123');
  });
});
