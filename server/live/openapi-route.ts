/** `GET /api/v1/openapi.json`: needs no login, so that a relay can be built against it. */
import type { FastifyInstance } from 'fastify';
import { openApiDocument } from './openapi.ts';

export function registerOpenApi(app: FastifyInstance): void {
  const text = JSON.stringify(openApiDocument());
  app.get('/api/v1/openapi.json', async (_request, reply) => reply.type('application/json; charset=utf-8').send(text));
}
