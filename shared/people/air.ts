/**
 * Air in a breathing apparatus, and how long until the wearer must start back. Pressure alone says nothing: 100 bar are
 * 600 L in one cylinder and 900 L in another, so everything is brought to litres of free air first.
 *
 * Boyle's law, without the compressibility of air: at 300 bar a cylinder holds up to about a tenth less (common practice,
 * no source), so the figures are estimates.
 */

/** Of the two systems of units in use, one a cylinder. Mixing them is refused by the types. */
export type Cylinder =
  /** Water volume in litres, filling and gauge in bar. */
  | { readonly regime: 'bar'; readonly waterLitres: number; readonly fullBar: number }
  /** Litres of free air at the rated pressure in psi, gauge in psi. */
  | { readonly regime: 'psi'; readonly ratedLitres: number; readonly fullPsi: number };

/** A reading of the gauge; its unit has to be the cylinder's own. */
export type Gauge = { readonly pressure: number; readonly unit: 'bar' | 'psi' };

export type AirProblem =
  /** Bar on a psi cylinder, or the other way round. */
  | 'units-differ'
  /** Not a finite number, or out of any range; `what` names it. */
  | 'not-usable';
export type AirRefusal = { readonly ok: false; readonly problem: AirProblem; readonly what: string };
export type Litres = { readonly ok: true; readonly litres: number };

/** Psi in one bar: 14.5038, from 1 psi = 6,894.757 Pa. */
export const PSI_PER_BAR = 1e5 / 6_894.757_293_168;

/** A gauge in bar, to set two side by side; it still says nothing of litres. */
export function gaugeInBar({ pressure, unit }: Gauge): number {
  return unit === 'bar' ? pressure : pressure / PSI_PER_BAR;
}

/** Low-air alarm as a share of the full cylinder: NFPA 1981, 2013 and later, 33 % (seen in a copy). */
export const DEFAULT_ALARM_FRACTION = 0.33;

/** Litres of air a cylinder holds full: water volume × pressure in bar, or the rating. */
export function fullLitres(cylinder: Cylinder): Litres | AirRefusal {
  if (cylinder.regime === 'psi') {
    if (!positive(cylinder.ratedLitres)) return unusable('ratedLitres');
    if (!positive(cylinder.fullPsi)) return unusable('fullPsi');
    return { ok: true, litres: cylinder.ratedLitres };
  }
  if (!positive(cylinder.waterLitres)) return unusable('waterLitres');
  if (!positive(cylinder.fullBar)) return unusable('fullBar');
  return { ok: true, litres: cylinder.waterLitres * cylinder.fullBar };
}

/** Litres of free air at a gauge reading. Refused: the other unit, a negative or missing pressure. */
export function airLitres(cylinder: Cylinder, gauge: Gauge): Litres | AirRefusal {
  const full = fullLitres(cylinder);
  if (!full.ok) return full;
  if (gauge.unit !== cylinder.regime) return { ok: false, problem: 'units-differ', what: 'gauge' };
  if (!notNegative(gauge.pressure)) return unusable('gauge');
  const rated = cylinder.regime === 'bar' ? cylinder.fullBar : cylinder.fullPsi;
  return { ok: true, litres: (full.litres * gauge.pressure) / rated };
}

export type AirUse = {
  /** Litres a full cylinder holds, above 0. */
  readonly fullLitres: number;
  /** Litres in it now. */
  readonly litres: number;
  /** L/min breathed; real work is 60 to 100 and more (common practice, no source). Above 0. */
  readonly litresPerMinute: number;
  /** Share of the full cylinder at which the low-air alarm sounds, 0 to 1. */
  readonly alarmFraction: number;
};
export type AirTimes = { readonly ok: true; readonly toAlarm: number; readonly toEmpty: number };

/**
 * Minutes until the low-air alarm and until nothing is left; never negative. Source: arithmetic,
 * (litres now − full × alarm share) ÷ use.
 */
export function airTimes(use: AirUse): AirTimes | AirRefusal {
  const problem = useProblem(use);
  if (problem !== null) return unusable(problem);
  const toEmpty = use.litres / use.litresPerMinute;
  return { ok: true, toAlarm: Math.max(0, (use.litres - alarmLitres(use)) / use.litresPerMinute), toEmpty };
}

/** What is left when the low-air alarm sounds. */
function alarmLitres({ fullLitres: full, alarmFraction }: AirUse): number {
  return full * alarmFraction;
}

/** A wearer and what must still be in the cylinder when they have come out. */
export type Wearer = AirUse & {
  readonly name: string;
  /** Minutes out of the hot zone; minutes of decontamination, on air. Both 0 or more. */
  readonly wayOutMinutes: number;
  readonly decontaminationMinutes: number;
};

export type LeaveIn = {
  readonly ok: true;
  /** Minutes until this wearer must start back: way out, decontamination and the low-air reserve are off. Never negative. */
  readonly minutes: number;
  /** Litres that must be there at the start of the way back. */
  readonly neededLitres: number;
};

/**
 * Minutes until a wearer must start back, so that the low-air alarm has not sounded when they are out of the suit.
 * Source: arithmetic; that the reserve covers decontamination: common practice, no source.
 */
export function leaveIn(wearer: Wearer): LeaveIn | AirRefusal {
  const problem = useProblem(wearer);
  if (problem !== null) return unusable(problem);
  if (!notNegative(wearer.wayOutMinutes)) return unusable('wayOutMinutes');
  if (!notNegative(wearer.decontaminationMinutes)) return unusable('decontaminationMinutes');
  const onTheWay = (wearer.wayOutMinutes + wearer.decontaminationMinutes) * wearer.litresPerMinute;
  const neededLitres = alarmLitres(wearer) + onTheWay;
  return { ok: true, minutes: Math.max(0, (wearer.litres - neededLitres) / wearer.litresPerMinute), neededLitres };
}

export type TeamAir = {
  /** Of the member who must go first; null where no member's air is known. */
  readonly minutes: number | null;
  /** Whose air governs; the first of equal ones. */
  readonly governs: string | null;
  /** Members whose air is not known: the team's figure is not to be relied on past them. */
  readonly unknown: readonly string[];
};

/** A team leaves with its lowest member, never at the average. Source: common practice, no source. */
export function teamAir(wearers: readonly Wearer[]): TeamAir {
  let minutes: number | null = null;
  let governs: string | null = null;
  const unknown: string[] = [];
  for (const wearer of wearers) {
    const one = leaveIn(wearer);
    if (!one.ok) {
      unknown.push(wearer.name);
      continue;
    }
    if (minutes !== null && one.minutes >= minutes) continue;
    minutes = one.minutes;
    governs = wearer.name;
  }
  return { minutes, governs, unknown };
}

export type TurnPressure = { readonly ok: true; readonly pressure: number; readonly unit: 'bar' | 'psi' };

/**
 * Gauge at which to turn back: the reserve and what the way in used. The way back is taken to cost as much as the way
 * in; `reserve` has to cover decontamination. All gauges of one unit; refused where they differ, or where the gauge rose.
 * Source: arithmetic.
 */
export function turnPressure(start: Gauge, atWork: Gauge, reserve: Gauge): TurnPressure | AirRefusal {
  if (start.unit !== atWork.unit) return { ok: false, problem: 'units-differ', what: 'atWork' };
  if (start.unit !== reserve.unit) return { ok: false, problem: 'units-differ', what: 'reserve' };
  if (!notNegative(start.pressure)) return unusable('start');
  if (!notNegative(atWork.pressure) || atWork.pressure > start.pressure) return unusable('atWork');
  if (!notNegative(reserve.pressure)) return unusable('reserve');
  return { ok: true, pressure: reserve.pressure + start.pressure - atWork.pressure, unit: start.unit };
}

function useProblem(use: AirUse): string | null {
  if (!positive(use.fullLitres)) return 'fullLitres';
  if (!notNegative(use.litres)) return 'litres';
  if (!positive(use.litresPerMinute)) return 'litresPerMinute';
  if (!notNegative(use.alarmFraction) || use.alarmFraction > 1) return 'alarmFraction';
  return null;
}

function unusable(what: string): AirRefusal {
  return { ok: false, problem: 'not-usable', what };
}

function positive(value: number): boolean {
  return Number.isFinite(value) && value > 0;
}

function notNegative(value: number): boolean {
  return Number.isFinite(value) && value >= 0;
}
