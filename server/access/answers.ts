/** The one shape of a refusal: `{ error: { code, message } }`. */
import type { FastifyReply } from 'fastify';

export function refuse(reply: FastifyReply, status: number, code: string, message: string): FastifyReply {
  return reply.code(status).send({ error: { code, message } });
}
