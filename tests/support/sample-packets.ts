/** Packets as a relay sends them, for tests. The place and the call signs are made up. */
import { type Answer, type RunningPost, send } from './run-server.ts';

export type Sample = Record<string, unknown> & {
  readonly monitor: string;
  readonly boot: string;
  readonly seq: number;
};

/** Clean air and an ordinary dose rate. */
export const CLEAN = {
  o2: { value: 20.9, unit: '%vol' },
  lel: { value: 0, unit: '%LEL' },
  co: { value: 0, unit: 'ppm' },
  h2s: { value: 0, unit: 'ppm' },
  voc: { value: 0, unit: 'ppb' },
  gamma: { value: 7, unit: 'uR/h' },
} as const;

/** A packet with all six readings in clean air; `over` replaces whole fields. */
export function sample(monitor: string, seq: number, over: Record<string, unknown> = {}): Sample {
  return {
    monitor,
    boot: 'b1',
    seq,
    ageMs: 0,
    readings: CLEAN,
    status: { pump: 'running', motion: 'moving' },
    ...over,
  };
}

/** Posts one packet, an array, or any body. */
export function postPackets(post: Pick<RunningPost, 'url'>, token: string, body: unknown): Promise<Answer> {
  return send(post, 'POST', '/api/v1/packets', { headers: { authorization: `Bearer ${token}` }, body });
}
