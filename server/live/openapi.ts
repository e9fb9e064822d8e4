/** The OpenAPI 3.1 document, made from the zod schemas. The JSON Schemas of docs/protocol.md are made here too. */
import { z } from 'zod';
import { sessionAnswer, sessionRequest } from '../../shared/protocol/access.ts';
import { board } from '../../shared/protocol/board.ts';
import { commandAnswer, commandRequest } from '../../shared/protocol/commands.ts';
import { liveFrame, relayAnswer, relayFrame } from '../../shared/protocol/frames.ts';
import { history, monitorPackets } from '../../shared/protocol/history.ts';
import { MAX_PACKETS_PER_REQUEST, PROTOCOL_VERSION, packet, packetsAnswer } from '../../shared/protocol/packet.ts';

const SCHEMAS = {
  Packet: packet,
  PacketsAnswer: packetsAnswer,
  RelayFrame: relayFrame,
  RelayAnswer: relayAnswer,
  LiveFrame: liveFrame,
  Board: board,
  CommandRequest: commandRequest,
  CommandAnswer: commandAnswer,
  SessionRequest: sessionRequest,
  SessionAnswer: sessionAnswer,
  History: history,
  MonitorPackets: monitorPackets,
} as const;

/** JSON Schema (draft 2020-12) of each shape by name, for documents and for other languages. */
export function jsonSchemas(io: 'input' | 'output' = 'input'): Record<string, object> {
  const made: Record<string, object> = {};
  for (const [name, schema] of Object.entries(SCHEMAS)) {
    // Each stands alone: references inside one schema are inlined, so that it can be taken out and used.
    const { $schema: _, ...rest } = z.toJSONSchema(schema, {
      target: 'draft-2020-12',
      reused: 'inline',
      io,
      metadata: z.registry<{ id?: string }>(), // without the ids, which would tear a schema into references
      override: ({ zodSchema, jsonSchema }) => {
        const description = z.globalRegistry.get(zodSchema)?.description;
        if (description !== undefined) jsonSchema.description = description;
      },
    });
    made[name] = rest;
  }
  return made;
}

const ref = (name: keyof typeof SCHEMAS) => ({ $ref: `#/components/schemas/${name}` });
const json = (schema: object) => ({ 'application/json': { schema } });
const answer = (description: string, schema?: object) =>
  schema === undefined ? { description } : { description, content: json(schema) };
const REFUSAL = {
  type: 'object',
  required: ['error'],
  properties: {
    error: {
      type: 'object',
      required: ['code', 'message'],
      properties: { code: { type: 'string' }, message: { type: 'string' } },
    },
  },
};
const refusals = {
  '401': answer('No login or token, or a wrong one', REFUSAL),
  '403': answer('The role may not do this', REFUSAL),
};
const id = { name: 'id', in: 'path', required: true, schema: { type: 'string' } };

/** The document served at /api/v1/openapi.json. */
export function openApiDocument(): object {
  return {
    openapi: '3.1.0',
    info: {
      title: 'Upwind',
      version: String(PROTOCOL_VERSION),
      description: 'Packets in, board out. The board advises; it does not decide, and it cannot signal the entrants.',
    },
    paths: {
      '/api/v1/packets': {
        post: {
          summary: 'Store packets of a relay',
          security: [{ relayToken: [] }],
          requestBody: {
            required: true,
            content: json({
              oneOf: [ref('Packet'), { type: 'array', items: ref('Packet'), maxItems: MAX_PACKETS_PER_REQUEST }],
            }),
          },
          responses: {
            '200': answer('One result a packet, in order; what is stored is on disk', ref('PacketsAnswer')),
            '400': answer('Not JSON', REFUSAL),
            ...refusals,
            '413': answer('Over 2 MiB or over 1,000 packets', REFUSAL),
            '429': answer('Too fast; nothing was stored; see Retry-After', REFUSAL),
            '503': answer('Cannot be recorded now; nothing was acknowledged; see Retry-After', REFUSAL),
          },
        },
      },
      '/api/v1/relay': {
        get: {
          summary: 'WebSocket of a relay: RelayFrame in, RelayAnswer out',
          security: [{ relayToken: [] }],
          responses: { '101': answer('Switching protocols'), ...refusals },
        },
      },
      '/api/v1/live': {
        get: {
          summary: 'WebSocket of a screen: LiveFrame out',
          parameters: [
            { name: 'epoch', in: 'query', schema: { type: 'string' } },
            {
              name: 'cursor',
              in: 'query',
              schema: { type: 'integer' },
              description: 'Last one the screen has (exclusive)',
            },
          ],
          responses: { '101': answer('Switching protocols'), ...refusals },
        },
      },
      '/api/v1/board': {
        get: { summary: 'The board as it is', responses: { '200': answer('The board', ref('Board')), ...refusals } },
      },
      '/api/v1/incidents': {
        get: {
          summary: 'Incidents and exercises, newest first',
          responses: { '200': answer('The list'), ...refusals },
        },
      },
      '/api/v1/monitors/{id}/history': {
        get: {
          summary: 'Channels of a monitor over time',
          parameters: [id, { name: 'minutes', in: 'query', schema: { type: 'number' } }],
          responses: { '200': answer('History', ref('History')), ...refusals },
        },
      },
      '/api/v1/monitors/{id}/packets': {
        get: {
          summary: 'Newest packets of a monitor',
          parameters: [id, { name: 'limit', in: 'query', schema: { type: 'integer' } }],
          responses: { '200': answer('Packets', ref('MonitorPackets')), ...refusals },
        },
      },
      '/api/v1/session': {
        post: {
          summary: 'Log in',
          requestBody: { required: true, content: json(ref('SessionRequest')) },
          responses: {
            '200': answer('A cookie is set', ref('SessionAnswer')),
            '401': answer('Wrong name or passphrase', REFUSAL),
          },
        },
        delete: { summary: 'Leave', responses: { '204': answer('Left') } },
      },
      '/api/v1/commands': {
        post: {
          summary: 'What staff do; idempotent by id',
          requestBody: { required: true, content: json(ref('CommandRequest')) },
          responses: {
            '200': answer('What became of it', ref('CommandAnswer')),
            '400': answer('Not understood', REFUSAL),
            ...refusals,
          },
        },
      },
      '/healthz': {
        get: {
          summary: 'Whether the post can record',
          security: [],
          responses: { '200': answer('It can'), '503': answer('It cannot') },
        },
      },
      '/metrics': {
        get: { summary: 'Figures in the Prometheus text format', responses: { '200': answer('Figures') } },
      },
    },
    components: {
      schemas: jsonSchemas(),
      securitySchemes: {
        relayToken: { type: 'http', scheme: 'bearer', description: 'Token of a relay' },
        viewerToken: { type: 'http', scheme: 'bearer', description: 'Token of a program that only reads' },
        session: { type: 'apiKey', in: 'cookie', name: 'upwind_session' },
      },
    },
    security: [{ session: [] }, { viewerToken: [] }],
  };
}
