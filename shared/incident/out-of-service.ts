/** What was put out of service: a monitor, one of its sensors, or one set-point. It keeps evaluating and recording. */
import type { AlarmRecord, IncidentState } from './state.ts';

type Subject = Pick<AlarmRecord, 'monitor' | 'sensor' | 'setPoint'>;

const SEPARATOR = '~';

/** Key of what is put out of service; what is left out covers all. */
export function serviceKey(monitor: string, sensor?: string, setPoint?: string): string {
  return [monitor, sensor ?? '', setPoint ?? ''].join(SEPARATOR);
}

/** The parts of a key; undefined where it covers all. */
export function serviceParts(key: string): { monitor: string; sensor?: string; setPoint?: string } {
  const parts = key.split(SEPARATOR);
  const setPoint = parts.pop();
  const sensor = parts.pop();
  return {
    monitor: parts.join(SEPARATOR),
    ...(sensor === undefined || sensor === '' ? {} : { sensor }),
    ...(setPoint === undefined || setPoint === '' ? {} : { setPoint }),
  };
}

/** Why an alarm of that kind is out of service, or null. */
export function outOfServiceReason(state: IncidentState, of: Subject): string | null {
  if (state.outOfService.size === 0 || of.monitor === '') return null;
  const sensor = of.sensor ?? '';
  const setPoint = of.setPoint ?? '';
  for (const key of [
    serviceKey(of.monitor),
    serviceKey(of.monitor, sensor),
    serviceKey(of.monitor, sensor, setPoint),
    serviceKey(of.monitor, '', setPoint),
  ]) {
    const found = state.outOfService.get(key);
    if (found !== undefined) return found.reason;
  }
  return null;
}
