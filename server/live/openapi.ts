/** The OpenAPI 3.1 document, made from the zod schemas. The JSON Schemas of docs/protocol.md are made here too. */
import { z } from 'zod';
import { setPointTable } from '../../shared/alarm/set-point.ts';
import { sessionAnswer, sessionRequest } from '../../shared/protocol/access.ts';
import { alarmHistory, MOST_AT_ONCE } from '../../shared/protocol/alarm-history.ts';
import { board } from '../../shared/protocol/board.ts';
import { commandAnswer, commandRequest } from '../../shared/protocol/commands.ts';
import { liveFrame, relayAnswer, relayFrame, screenMessage } from '../../shared/protocol/frames.ts';
import { history, monitorPackets } from '../../shared/protocol/history.ts';
import {
  MAX_PACKETS_PER_REQUEST,
  PROTOCOL_VERSION,
  packet,
  packetsAnswer,
  type WirePacket,
} from '../../shared/protocol/packet.ts';
import { MAX_TABLE_BYTES, setPointsView, tableCheck } from '../../shared/protocol/set-points.ts';

const SCHEMAS = {
  Packet: packet,
  PacketsAnswer: packetsAnswer,
  RelayFrame: relayFrame,
  RelayAnswer: relayAnswer,
  LiveFrame: liveFrame,
  ScreenMessage: screenMessage,
  Board: board,
  CommandRequest: commandRequest,
  CommandAnswer: commandAnswer,
  SessionRequest: sessionRequest,
  SessionAnswer: sessionAnswer,
  History: history,
  MonitorPackets: monitorPackets,
  AlarmHistory: alarmHistory,
  SetPointTable: setPointTable,
  SetPoints: setPointsView,
  SetPointsCheck: tableCheck,
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

const PACKET_EXAMPLES = {
  full: {
    summary: 'Six readings, status and place',
    value: {
      monitor: 'M-07',
      boot: 'b3f1',
      seq: 1042,
      measuredAt: '2026-05-14T13:05:09.250Z',
      sentAt: '2026-05-14T13:05:09.900Z',
      readings: {
        o2: { value: 20.9, unit: '%vol' },
        lel: { value: 0, unit: '%LEL' },
        co: { value: 3, unit: 'ppm' },
        h2s: { value: 0, unit: 'ppm' },
        voc: { value: 100, unit: 'ppb' },
        gamma: { value: 7, unit: 'uR/h' },
      },
      status: { battery: 81, pump: 'running', motion: 'moving', mode: 'all', linkQuality: 78, intervalMs: 1000 },
      position: { lat: 44.0512, lon: -98.2114, accuracy: 6 },
    } satisfies WirePacket,
  },
  several: {
    summary: 'Newest first, then the backlog',
    value: [
      { monitor: 'M-08', boot: 'c01', seq: 3, ageMs: 0, readings: { co: { flag: 'over-range' } } },
      { monitor: 'M-08', boot: 'c01', seq: 2, ageMs: 61_000, readings: { co: { value: 180, unit: 'ppm' } } },
    ] satisfies WirePacket[],
  },
};

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
            content: {
              'application/json': {
                schema: {
                  oneOf: [ref('Packet'), { type: 'array', items: ref('Packet'), maxItems: MAX_PACKETS_PER_REQUEST }],
                },
                examples: PACKET_EXAMPLES,
              },
            },
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
          summary: 'WebSocket of a screen: LiveFrame out, ScreenMessage in',
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
      '/api/v1/set-points': {
        get: {
          summary: 'The table of set-points in force; another is adopted by the command set-points-adopt',
          responses: { '200': answer('The table, and what is wrong with it', ref('SetPoints')), ...refusals },
        },
      },
      '/api/v1/set-points/check': {
        post: {
          summary: 'What adopting a table would do now; nothing is recorded',
          security: [{ session: [] }],
          requestBody: { required: true, content: json(ref('SetPointTable')) },
          responses: {
            '200': answer('What is wrong with it, and a preview where nothing keeps it out', ref('SetPointsCheck')),
            '400': answer('Not JSON', REFUSAL),
            ...refusals,
            '413': answer(`Over ${MAX_TABLE_BYTES / 1024 / 1024} MiB`, REFUSAL),
          },
        },
      },
      '/api/v1/alarms/history': {
        get: {
          summary: 'What happened to the alarms of the current record, newest first',
          parameters: [
            { name: 'limit', in: 'query', schema: { type: 'integer', minimum: 1, maximum: MOST_AT_ONCE } },
            {
              name: 'before',
              in: 'query',
              schema: { type: 'integer' },
              description: 'Only events with a lower number: `next` of the page before',
            },
            { name: 'alarm', in: 'query', schema: { type: 'string' }, description: 'Only those of this alarm' },
          ],
          responses: {
            '200': answer('The events', ref('AlarmHistory')),
            '400': answer('A value in the query', REFUSAL),
            ...refusals,
          },
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
        get: {
          summary: 'Who is logged in here',
          responses: { '200': answer('Name, role, and until when'), '401': answer('Nobody', REFUSAL) },
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
      '/api/v1/first': {
        post: {
          summary: 'Make the first commander, with the code that the server printed',
          security: [],
          responses: {
            '200': answer('A cookie is set', ref('SessionAnswer')),
            '403': answer('Not that code', REFUSAL),
          },
        },
      },
      '/api/v1/wall': {
        post: {
          summary: 'Make this browser a wall screen, with a pairing code',
          security: [],
          responses: { '200': answer('A cookie is set'), '403': answer('Not that code', REFUSAL) },
        },
        get: { summary: 'Wall screens', responses: { '200': answer('The list'), ...refusals } },
      },
      '/api/v1/wall/pair': {
        post: { summary: 'A code for one wall screen', responses: { '200': answer('The code'), ...refusals } },
      },
      '/api/v1/wall/{id}': {
        delete: {
          summary: 'End a wall screen',
          parameters: [id],
          responses: { '204': answer('Ended'), ...refusals, '404': answer('No such screen', REFUSAL) },
        },
      },
      '/api/v1/openapi.json': {
        get: { summary: 'This document', security: [], responses: { '200': answer('OpenAPI 3.1') } },
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
