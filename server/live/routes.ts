/** The sockets: screens look at `/api/v1/live`, relays send on `/api/v1/relay`. */
import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { WebSocket } from 'ws';
import { z } from 'zod';
import { type RelayAnswer, relayFrame, type ScreenMessage, screenMessage } from '../../shared/protocol/frames.ts';
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

const resumeQuery = z.object({
  epoch: z.string().max(200).optional(),
  cursor: z.coerce.number().int().min(0).optional(),
});
/** Frames of one relay that may wait for their commit; then it is read no further until they are answered. */
const MOST_WAITING = 64;

const MAX_SCREEN_MESSAGE = 1_000;

export type SocketDeps = {
  readonly post: Post;
  readonly hub: Hub;
  readonly limit: RateLimit;
  readonly steadyMs: () => number;
};

export type RelaySockets = {
  /** Ends the sockets of the token with that id: it was revoked. */
  closeOf(id: string): void;
  /** Reads nothing more, answers what was read, and closes. */
  drain(): void;
};

export function registerSockets(app: FastifyInstance, deps: SocketDeps): RelaySockets {
  const relays = new Set<RelaySocket>();
  app.get(
    '/api/v1/live',
    { websocket: true, onRequest: [requireAct('look'), requireUpgradeOrigin] },
    (socket, request) => {
      const { hub, steadyMs } = deps;
      const screen = new Screen(socket, identityOf(request), steadyMs);
      socket.on('error', () => socket.terminate());
      socket.on('close', () => hub.leave(screen));
      // Screens say nothing but whether they can be heard; what people do goes by /api/v1/commands.
      socket.on('message', (data, isBinary) => {
        const said = readScreenMessage(isBinary ? '' : String(data));
        if (said !== null) hub.tellSound(screen, said.on);
      });
      const resume = resumeQuery.safeParse(request.query);
      const asked = resume.success && resume.data.epoch !== undefined && resume.data.cursor !== undefined;
      hub.join(screen, asked ? { epoch: resume.data.epoch ?? '', cursor: resume.data.cursor ?? 0 } : null);
    },
  );

  app.get(
    '/api/v1/relay',
    { websocket: true, onRequest: [requireAct('post-packets'), requireUpgradeOrigin] },
    (socket, request) => {
      const relay = new RelaySocket(socket, identityOf(request), deps);
      relays.add(relay);
      socket.on('close', () => relays.delete(relay));
    },
  );
  return {
    closeOf(id) {
      for (const relay of relays) if (relay.identity.id === id) relay.close(1008, 'the token was revoked');
    },
    drain() {
      for (const relay of relays) relay.drain();
    },
  };
}

/** Null for what is not understood: a newer page may say more than this post knows of. */
function readScreenMessage(text: string): ScreenMessage | null {
  if (text.length > MAX_SCREEN_MESSAGE) return null;
  try {
    return screenMessage.safeParse(JSON.parse(text)).data ?? null;
  } catch {
    return null;
  }
}

function identityOf(request: FastifyRequest): Identity {
  if (request.identity === null) throw new Error('a socket without an identity passed its check');
  return request.identity;
}

class RelaySocket {
  readonly identity: Identity;
  readonly #socket: WebSocket;
  readonly #deps: SocketDeps;
  #waiting = 0;
  #ending = false;

  constructor(socket: WebSocket, identity: Identity, deps: SocketDeps) {
    this.identity = identity;
    this.#socket = socket;
    this.#deps = deps;
    socket.on('error', () => socket.terminate());
    socket.on('message', (data, isBinary) => this.#take(isBinary ? '' : String(data)));
  }

  close(code: number, reason: string): void {
    this.#ending = true;
    this.#socket.resume(); // a paused one would not see the other side's close
    this.#socket.close(code, reason);
  }

  drain(): void {
    this.#ending = true;
    if (this.#waiting === 0) this.close(1001, 'the post is shutting down');
  }

  #take(text: string): void {
    if (this.#ending) return; // unanswered: the relay sends it again
    this.#waiting += 1;
    if (this.#waiting >= MOST_WAITING) this.#socket.pause();
    takeFrame(text, this.identity, this.#deps)
      .then((frame) => this.#answer(frame))
      .catch(() => this.close(1011, 'fault'))
      .finally(() => {
        this.#waiting -= 1;
        if (this.#ending) this.drain();
        else if (this.#socket.isPaused && this.#waiting < MOST_WAITING) this.#socket.resume();
      });
  }

  #answer(frame: RelayAnswer): void {
    if (this.#socket.readyState === this.#socket.OPEN) this.#socket.send(JSON.stringify(frame));
  }
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
