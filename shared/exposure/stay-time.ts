/** How long a person may stay at a dose rate before they must start back. */

export type StayInput = {
  /** Dose limit, dose so far (background included) and rates per hour, all of one unit. */
  readonly limit: number;
  readonly accumulated: number;
  readonly rate: number;
  readonly background: number;
  /** The way out: how long it takes, and the mean rate on it. */
  readonly exitMinutes: number;
  readonly exitRate: number;
};

export type StayTime =
  | { readonly state: 'minutes'; readonly minutes: number }
  /** The limit is reached, or will be on the way out alone. */
  | { readonly state: 'over'; readonly minutes: 0; readonly why: 'limit' | 'way-out' }
  /** At or below background: the rate is no reason to leave. */
  | { readonly state: 'not-limiting' }
  | { readonly state: 'unknown'; readonly missing: readonly (keyof StayInput)[] };

/** Minutes = (limit − accumulated − dose of the way out) / rate. Never negative; what is not finite is named. */
export function stayTime(input: StayInput): StayTime {
  const missing = (['limit', 'accumulated', 'rate', 'background', 'exitMinutes', 'exitRate'] as const).filter(
    (name) => !Number.isFinite(input[name]),
  );
  if (missing.length > 0) return { state: 'unknown', missing };
  const left = input.limit - input.accumulated;
  if (left <= 0) return { state: 'over', minutes: 0, why: 'limit' };
  const afterExit = left - (Math.max(0, input.exitRate) * Math.max(0, input.exitMinutes)) / 60;
  if (afterExit <= 0) return { state: 'over', minutes: 0, why: 'way-out' };
  if (input.rate <= Math.max(0, input.background)) return { state: 'not-limiting' };
  return { state: 'minutes', minutes: (afterExit / input.rate) * 60 };
}
