/**
 * Packet protocol v1: the shapes, and the only place where they are written. Types are inferred from here; the
 * JSON Schema of docs/protocol.md and the OpenAPI document are generated from here.
 *
 * A packet is judged field by field (see read-packet.ts): these schemas say what each field must be, not that a
 * packet with one bad field is worthless.
 *
 * Versions:
 * v1  first.
 */
import { z } from 'zod';
import { UNITS } from '../quantity/channels.ts';

export const PROTOCOL_VERSION = 1;
export const MAX_PACKETS_PER_REQUEST = 1000;
export const MAX_REQUEST_BYTES = 2 * 1024 * 1024;
export const MAX_FRAME_BYTES = 1024 * 1024;

const shortText = z
  .string()
  .min(1)
  .max(64)
  // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is refused
  .regex(/^[^\u0000-\u001f\u007f]+$/, 'printable text without control characters');

export const monitorId = shortText.describe('Name of the monitor, 1 to 64 printable characters, for instance "M-07"');
export const bootId = shortText.describe('New whenever the numbering of `seq` starts again');
export const seqNumber = z
  .number()
  .int()
  .min(0)
  .max(Number.MAX_SAFE_INTEGER)
  .describe('Number of the packet within `boot`, an integer from 0 to 2^53-1');
export const viaId = shortText.describe(
  'Who numbers the packets, where two relays hear one monitor and number separately',
);

export const instant = z.iso
  .datetime({ offset: true })
  .describe('Date and time by RFC 3339 with seconds and a zone, for instance "2026-05-14T13:05:09.250Z"');

export const unit = z.enum(UNITS);
export const flag = z
  .enum(['warming', 'over-range', 'under-range', 'fault', 'off'])
  .describe('Why there is no good number');
export const channelKey = z.string().regex(/^[a-z0-9-]{1,32}$/, 'lower-case letters, digits and "-"');

export const reading = z
  .looseObject({
    value: z.number().optional().describe('A finite number. May be absent where a flag says why'),
    unit: unit.optional().describe('Required with a value'),
    flag: flag.optional(),
  })
  .meta({ id: 'Reading' });

export const status = z
  .looseObject({
    battery: z.number().min(0).max(100).optional().describe('Per cent'),
    pump: z.enum(['running', 'blocked', 'off', 'none']).optional(),
    motion: z.enum(['moving', 'still', 'down']).optional(),
    help: z.boolean().optional().describe('The wearer calls for help'),
    mode: z.enum(['all', 'gas-only', 'radiation-only']).optional(),
    linkQuality: z.number().min(0).max(100).optional().describe('Per cent'),
    intervalMs: z.number().int().min(50).max(3_600_000).optional().describe('How often the monitor reports, ms'),
    zeroedAt: instant.optional(),
    bumpedAt: instant.optional(),
    calibratedAt: instant.optional(),
    testDue: z.boolean().optional(),
  })
  .meta({ id: 'Status' });

export const position = z
  .looseObject({
    lat: z.number().min(-90).max(90).optional().describe('Degrees north, WGS 84'),
    lon: z.number().min(-180).max(180).optional().describe('Degrees east, WGS 84'),
    accuracy: z.number().min(0).optional().describe('Metres'),
    usng: z.string().max(32).optional().describe('Instead of lat and lon'),
  })
  .meta({ id: 'Position' });

export const weather = z
  .looseObject({
    windFrom: z.number().min(0).max(360).optional().describe('Degrees true that the wind comes from'),
    windSpeed: z.number().min(0).max(150).optional().describe('m/s'),
    temperature: z.number().min(-90).max(90).optional().describe('degrees Celsius'),
    humidity: z.number().min(0).max(100).optional().describe('% RH'),
    pressure: z.number().min(300).max(1200).optional().describe('hPa'),
  })
  .meta({ id: 'Weather' });

export const packet = z
  .looseObject({
    monitor: monitorId,
    boot: bootId,
    seq: seqNumber,
    via: viaId.optional(),
    measuredAt: instant.optional(),
    sentAt: instant.optional(),
    ageMs: z.number().min(0).optional().describe('Age of the measurement when it was sent, ms'),
    readings: z.record(channelKey, reading).optional(),
    status: status.optional(),
    position: position.optional(),
    weather: weather.optional(),
    test: z.boolean().optional().describe('Horn and lights are being tested'),
    simulated: z.boolean().optional(),
  })
  .meta({ id: 'Packet' });

/** A packet as a relay writes it. */
export type WirePacket = z.infer<typeof packet>;
export type Flag = z.infer<typeof flag>;

export const warningCode = z.enum(['unit-missing', 'unit-unknown', 'value-invalid', 'field-invalid', 'clock-unknown']);
export type WarningCode = z.infer<typeof warningCode>;
export const rejectionCode = z.enum(['invalid', 'conflict', 'simulated']);
export type RejectionCode = z.infer<typeof rejectionCode>;

export const warning = z.object({ code: warningCode, path: z.string(), message: z.string() });
export type Warning = z.infer<typeof warning>;
export const rejection = z.object({ code: rejectionCode, path: z.string(), message: z.string() });
export type Rejection = z.infer<typeof rejection>;

export const packetResult = z
  .object({
    status: z.enum(['stored', 'duplicate', 'rejected']),
    cursor: z.number().int().optional().describe('Place of the packet in the journal'),
    warnings: z.array(warning).optional(),
    error: rejection.optional(),
  })
  .meta({ id: 'PacketResult' });
export type PacketResult = z.infer<typeof packetResult>;

export const packetsAnswer = z
  .object({ results: z.array(packetResult), postTime: z.string() })
  .meta({ id: 'PacketsAnswer' });
export type PacketsAnswer = z.infer<typeof packetsAnswer>;
