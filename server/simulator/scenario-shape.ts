/**
 * A scenario as data: what is released where, which way the wind blows, who carries which monitor where and when,
 * and what goes wrong. Times are seconds into the scenario (`…S`), places metres east and north of its origin.
 * Unknown keys are refused, so that a misspelt one cannot be silently without effect.
 */
import { z } from 'zod';
import { channelKey, monitorId, unit } from '../../shared/protocol/packet.ts';

const seconds = z.number().min(0).max(86_400);
const metres = z.number().min(-20_000).max(20_000);
const place = z.tuple([metres, metres]).describe('Metres east and north of the origin');
const name = z.string().min(1).max(64);
const ramp = z
  .array(z.tuple([seconds, z.number().min(0)]))
  .min(1)
  .refine((points) => areRising(points.map(([s]) => s)), 'times must rise');
const span = { fromS: seconds, toS: seconds };

const wind = z.strictObject({
  fromDegrees: z.number().min(0).max(360),
  speedMs: z.number().min(0.5).max(30),
  stability: z.enum(['A', 'B', 'C', 'D', 'E', 'F']),
  meander: z.array(z.strictObject({ amplitudeDegrees: z.number().min(0).max(90), periodS: z.number().min(5) })),
  temperatureC: z.number().min(-60).max(60),
  humidityPercent: z.number().min(0).max(100),
  pressureHpa: z.number().min(500).max(1100),
});

const gas = z.strictObject({
  name,
  channel: channelKey,
  molarMass: z.number().positive(),
  lelPercentVol: z.number().positive().max(100),
  ionisationEnergyEv: z.number().positive(),
  pidCorrectionFactor: z.number().positive(),
  sources: z.string().min(1).describe('Where the four values come from'),
});

const release = z.strictObject({
  at: place,
  heightM: z.number().min(0).max(200),
  initialSigmaYM: z.number().min(0).max(200),
  initialSigmaZM: z.number().min(0).max(200),
  gramsPerSecond: ramp,
});

const room = z.strictObject({
  name,
  from: place.describe('South-west corner'),
  to: place.describe('North-east corner'),
  volumeM3: z.number().positive(),
  releaseShare: z.number().min(0).max(1).describe('Share of the release that comes out in this room'),
  ventilationM3PerS: ramp.describe('Fresh air that enters'),
  into: name.optional().describe('The room that its air leaves into; without one, outdoors'),
});

const sensor = z.strictObject({
  unit,
  cleanAir: z.number().describe('What clean air, or open ground, reads'),
  t90S: z.number().min(0).max(600),
  noise: z.number().min(0).describe('Standard deviation, in the unit'),
  relativeNoise: z.number().min(0).max(1).optional().describe('Standard deviation as a share of the value'),
  countsPerUnit: z.number().positive().optional().describe('For a counter: noise is the root of the counts'),
  resolution: z.number().positive(),
  fullScale: z.number().positive(),
});

const monitor = z.strictObject({
  id: monitorId,
  relay: name,
  sensors: z.array(channelKey).min(1),
  batteryPercent: z.number().min(0).max(100),
  drainPercentPerHour: z.number().min(0).max(100),
  reportsMotion: z.boolean(),
  reportsWeather: z.boolean().optional(),
  zeroOffsets: z
    .record(channelKey, z.number())
    .optional()
    .describe('What the air of the last fresh-air zero held: every reading is so much too low'),
  zeroedMinutesBefore: z.number().min(0),
  bumpedMinutesBefore: z.number().min(0),
  calibratedDaysBefore: z.number().min(0),
});

const person = z.strictObject({
  entrant: name,
  team: name,
  role: z.enum(['entry', 'backup', 'decontamination', 'perimeter']),
  monitor: monitorId,
  assignedAtS: seconds,
  walk: z
    .array(z.tuple([seconds, metres, metres]))
    .min(1)
    .refine((points) => areRising(points.map(([s]) => s)), 'times must rise'),
  still: z.array(z.strictObject(span)),
  entries: z.array(z.strictObject({ atS: seconds, zone: z.enum(['cold', 'warm', 'hot']) })),
});

const fault = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('pump-blocked'), monitor: monitorId, ...span }),
  z.strictObject({ kind: z.literal('warming'), monitor: monitorId, ...span }),
  z.strictObject({
    kind: z.literal('mode'),
    monitor: monitorId,
    mode: z.enum(['gas-only', 'radiation-only']),
    ...span,
  }),
  z.strictObject({
    kind: z.literal('local-source'),
    monitor: monitorId,
    channel: channelKey,
    add: z.number().describe('In the unit of the sensor'),
    note: z.string(),
    ...span,
  }),
]);

/** The shape alone; what one part says of another is checked in scenario.ts. */
export const scenarioShape = z.strictObject({
  name,
  note: z.string(),
  durationS: seconds.min(1).describe('After this the scenario begins again'),
  intervalMs: z.number().int().min(50).max(60_000),
  origin: z.strictObject({ lat: z.number().min(-80).max(80), lon: z.number().min(-180).max(180) }),
  wind,
  gas,
  release,
  rooms: z.array(room),
  beadReadsLowInThinOxygen: z.boolean(),
  lampEv: z.number().positive(),
  localAir: z.array(
    z.strictObject({
      note: z.string(),
      at: place,
      radiusM: z.number().positive(),
      channel: channelKey,
      add: z.number(),
    }),
  ),
  gammaSources: z.array(
    z.strictObject({ note: z.string(), at: place, microRPerHourAtOneMetre: z.number().positive() }),
  ),
  sensors: z.record(channelKey, sensor),
  relays: z.array(z.strictObject({ name, at: place, outages: z.array(z.strictObject(span)) })).min(1),
  monitors: z.array(monitor).min(1),
  people: z.array(person),
  faults: z.array(fault),
  lines: z.array(z.strictObject({ kind: z.enum(['hot-line', 'control-line']), name, points: z.array(place).min(2) })),
  places: z.array(z.strictObject({ name, at: place })),
});

export type Scenario = z.infer<typeof scenarioShape>;
export type Sensor = z.infer<typeof sensor>;
export type ScenarioMonitor = z.infer<typeof monitor>;
export type ScenarioPerson = z.infer<typeof person>;

function areRising(times: readonly number[]): boolean {
  return times.every((time, i) => i === 0 || time > (times[i - 1] ?? Number.NEGATIVE_INFINITY));
}
