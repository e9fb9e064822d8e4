/** The sockets: screens look at `/api/v1/live`, relays send on `/api/v1/relay`. */
import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { WebSocket } from 'ws';
import { z } from 'zod';
import { relayFrame, type RelayAnswer } from '../../shared/protocol/frames.ts';
import { MAX_PACKETS_PER_REQUEST } from '../../shared/protocol/packet.ts';
import type { Identity } from '../access/identity.ts';
import { requireUpgradeOrigin } from '../access/plugin.ts';
import { requireAct } from '../access/require-act.ts';
import { takePackets } from '../ingest/ingest.ts';
import type { RateLimit } from '../ingest/rate-limit.ts';
import { NotRecordable } from '../journal/not-recordable.ts';
import type { Post } from '../watch/post.ts';
import type { Hub } from './hub.ts';
import { Screen } from './screen.ts';

const resumeQuery = z.object({ epoch: z.string().max(200).optional(), cursor: z.coerce.number().int().min(0).optional() });
/** Frames of one relay that may wait for their commit; then it is read no further until they are answered. */
const MOST_WAITING = 64;

export type SocketDeps = {
  readonly post: Post;
  readonly hub: Hub;
  readonly limit: RateLimit;
  readonly steadyMs: () => number;
};

export function registerSockets(app: FastifyInstance, deps: SocketDeps): void {
  app.get(
    '/api/v1/live',
    { websocket: true, onRequest: [requireAct('look'), requireUpgradeOrigin] },
    (socket, request) => {
      const { hub, steadyMs } = deps;
      const screen = new Screen(socket, identityOf(request), steadyMs);
      socket.on('error', () => socket.terminate());
      socket.on('close', () => hub.leave(screen));
      socket.on('message', () => undefined); // screens only listen; what they do goes by /api/v1/commands
      const resume = resumeQuery.safeParse(request.query);
      const asked = resume.success && resume.data.epoch !== undefined && resume.data.cursor !== undefined;
      hub.join(screen, asked ? { epoch: resume.data.epoch ?? '', cursor: resume.data.cursor ?? 0 } : null);
    },
  );

  app.get(
    '/api/v1/relay',
    { websocket: true, onRequest: [requireAct('post-packets'), requireUpgradeOrigin] },
    (socket, request) => serveRelay(socket, identityOf(request), deps),
  );
}

function identityOf(request: FastifyRequest): Identity {
  if (request.identity === null) throw new Error('a socket without an identity passed its check');
  return request.identity;
}

function serveRelay(socket: WebSocket, relay: Identity, deps: SocketDeps): void {
  let waiting = 0;
  const answer = (frame: RelayAnswer) => {
    if (socket.readyState === socket.OPEN) socket.send(JSON.stringify(frame));
  };
  socket.on('error', () => socket.terminate());
  socket.on('message', (data, isBinary) => {
    waiting += 1;
    if (waiting >= MOST_WAITING) socket.pause();
    const text = isBinary ? '' : String(data);
    takeFrame(text, relay, deps)
      .then(answer)
      .catch(() => socket.close(1011, 'fault'))
      .finally(() => {
        waiting -= 1;
        if (socket.isPaused && waiting < MOST_WAITING) socket.resume();
      });
  });
}

async function takeFrame(text: string, relay: Identity, { post, limit }: SocketDeps): Promise<RelayAnswer> {
  const postTime = () => new Date(post.clock.now() / 1000 + post.clock.wallOffsetMs()).toISOString();
  const refuse = (id: RelayAnswer['id'], code: string, message: string, retryAfter?: number): RelayAnswer => ({
    id,
    postTime: postTime(),
    error: { code, message, ...(retryAfter === undefined ? {} : { retryAfter }) },
  });
  let raw: unknown;
  try {
    raw = JSON.parse(text);
  } catch {
    return refuse(null, 'not-json', 'a frame is a JSON text { "id": …, "packets": [ … ] }');
  }
  const frame = relayFrame.safeParse(raw);
  if (!frame.success) return refuse(null, 'frame-invalid', 'expected { "id": text or number, "packets": [ … ] }');
  const { id, packets } = frame.data;
  if (packets.length > MAX_PACKETS_PER_REQUEST) {
    return refuse(id, 'too-many', `at most ${MAX_PACKETS_PER_REQUEST} packets a frame`);
  }
  const wait = limit.take(relay.id, packets);
  if (wait > 0) return refuse(id, 'too-fast', 'too fast: nothing of this frame was stored', wait);
  try {
    return { id, ...(await takePackets(post.watch, post.clock, relay.name, packets)) };
  } catch (error) {
    if (!(error instanceof NotRecordable)) throw error;
    return refuse(id, error.code, error.message, error.retryAfterS);
  }
}
