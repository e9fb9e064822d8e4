/** `POST /api/v1/packets`: one packet or an array of up to 1,000, as JSON whatever the Content-Type says. */
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { MAX_PACKETS_PER_REQUEST, type PacketsAnswer } from '../../shared/protocol/packet.ts';
import { refuse } from '../access/answers.ts';
import { requireAct } from '../access/require-act.ts';
import { NotRecordable } from '../journal/not-recordable.ts';
import type { Post } from '../watch/post.ts';
import { takePackets } from './ingest.ts';
import type { RateLimit } from './rate-limit.ts';

export function registerPackets(app: FastifyInstance, post: Post, limit: RateLimit): void {
  app.register(async (child) => {
    // Small relays forget the header or send a wrong one. What they mean is JSON, and the token keeps pages out.
    child.removeAllContentTypeParsers();
    child.addContentTypeParser('*', { parseAs: 'string' }, child.getDefaultJsonParser('ignore', 'ignore'));
    child.post<{ Body: unknown }>('/api/v1/packets', { onRequest: requireAct('post-packets') }, (request, reply) =>
      take(request, reply, post, limit),
    );
  });
}

async function take(
  { body, identity }: FastifyRequest<{ Body: unknown }>,
  reply: FastifyReply,
  post: Post,
  limit: RateLimit,
): Promise<PacketsAnswer | FastifyReply> {
  if (body === undefined) return refuse(reply, 400, 'not-json', 'expected one packet as JSON, or an array of them');
  const packets: readonly unknown[] = Array.isArray(body) ? body : [body];
  if (packets.length > MAX_PACKETS_PER_REQUEST) {
    return refuse(reply, 413, 'too-many', `at most ${MAX_PACKETS_PER_REQUEST} packets a request: nothing was stored`);
  }
  const wait = limit.take(identity?.id ?? '', packets);
  if (wait > 0) return refuse(retryAfter(reply, wait), 429, 'too-fast', 'too fast: nothing of this request was stored');
  try {
    return await takePackets(post.watch, post.clock, identity?.name ?? '', packets);
  } catch (error) {
    if (!(error instanceof NotRecordable)) throw error;
    return refuse(retryAfter(reply, error.retryAfterS), 503, error.code, error.message);
  }
}

function retryAfter(reply: FastifyReply, seconds: number): FastifyReply {
  return reply.header('retry-after', String(seconds));
}
