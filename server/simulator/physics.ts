/** The small laws that turn a place in the scenario into what a sensor there would show. */

/** Molar volume of a gas at 25 °C and 760 mmHg, L/mol (OSHA and NIOSH convention, 29 CFR 1910.1000 Table Z-1). */
const MOLAR_VOLUME_L = 24.45;
/** Oxygen in clean air, %vol (common practice, no source; dry standard air is 20.946). */
export const CLEAN_AIR_O2 = 20.9;

/** Volume of pure gas in m³/s for a release in g/s of a gas of `molarMass` g/mol. */
export function gasVolumeRate(gramsPerSecond: number, molarMass: number): number {
  return ((gramsPerSecond / molarMass) * MOLAR_VOLUME_L) / 1000;
}

/** Oxygen in %vol when a volume fraction `x` (0 to 1) of the air is replaced by a gas without oxygen: O2 = 20.9 (1 − x). */
export function displacedOxygen(x: number, cleanAirO2 = CLEAN_AIR_O2): number {
  return cleanAirO2 * (1 - x);
}

/** %LEL of a volume fraction, on the basis of a lower explosive limit in %vol. */
export function percentLel(x: number, lelPercentVol: number): number {
  return (x * 100 * 100) / lelPercentVol;
}

/**
 * Share of the true value that a catalytic bead still shows in thin oxygen: 1 down to 19.5 %vol (below it the reading
 * is not valid: NIOSH/OSHA/USCG/EPA 1985), then a straight line to 0 at 10 %vol, about where a bead can burn nothing
 * (from memory, verify).
 */
export function beadShare(o2PercentVol: number): number {
  return Math.min(1, Math.max(0, (o2PercentVol - 10) / 9.5));
}

/**
 * What a photo-ionisation detector set to isobutylene adds for `ppm` of a gas: ppm / correction factor (true =
 * reading × factor), and nothing for a gas whose ionisation energy is not below the lamp's.
 */
export function pidReading(
  ppm: number,
  gas: { readonly ionisationEnergyEv: number; readonly pidCorrectionFactor: number },
  lampEv: number,
): number {
  return gas.ionisationEnergyEv < lampEv ? ppm / gas.pidCorrectionFactor : 0;
}

/**
 * Dose rate at `distanceM` from a point source, in the unit of `rateAtOneMetre`: the inverse square. Nearer than
 * 0.1 m counts as 0.1 m, where no source is a point.
 */
export function inverseSquare(rateAtOneMetre: number, distanceM: number): number {
  return rateAtOneMetre / Math.max(0.1, distanceM) ** 2;
}

/**
 * First-order response: the shown value after `elapsedMs` with the true value at `target` all the while.
 * The time constant is T90 / ln 10; a T90 of 0 follows at once.
 */
export function respond(shown: number, target: number, elapsedMs: number, t90Ms: number): number {
  if (t90Ms <= 0) return target;
  return target + (shown - target) * Math.exp((-elapsedMs * Math.LN10) / t90Ms);
}

/** Rounds to a sensor's resolution as its display does, without the dust of binary fractions and without −0. */
export function toResolution(value: number, resolution: number): number {
  const decimals = Math.max(0, Math.ceil(-Math.log10(resolution)));
  return Number((Math.round(value / resolution) * resolution).toFixed(decimals)) + 0;
}
