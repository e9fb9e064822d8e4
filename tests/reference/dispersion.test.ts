import { describe, expect, test } from 'vitest';
import {
  beadShare,
  displacedOxygen,
  gasVolumeRate,
  inverseSquare,
  percentLel,
  pidReading,
  respond,
  toResolution,
} from '../../server/simulator/physics.ts';
import { metresPerDegree } from '../../server/simulator/place.ts';
import {
  alongWind,
  plumeConcentration,
  plumeOfSpread,
  type StabilityClass,
  sigmaY,
  sigmaZ,
} from '../../shared/map/dispersion.ts';

const CLASSES: StabilityClass[] = ['A', 'B', 'C', 'D', 'E', 'F'];

describe('open-country spreads', () => {
  // Values at 1.2 m of the rural set of AIChE/CCPS 1999, "Guidelines for Consequence Analysis of Chemical Releases"
  // (after Briggs 1973), as the test data of the public package GasDispersion.jl (test/utils/ccps_tests.jl) gives them.
  test.each<[StabilityClass, number, number]>([
    ['A', 0.2639841614254575, 0.24],
    ['B', 0.19198848103669636, 0.144],
    ['C', 0.13199208071272875, 0.09598848207318536],
    ['D', 0.09599424051834818, 0.07193528734898633],
    ['E', 0.07199568038876113, 0.03598704466392099],
    ['F', 0.04799712025917409, 0.019193090487424527],
  ])('class %s at 1.2 m', (stability, y, z) => {
    expect(sigmaY(1.2, stability)).toBeCloseTo(y, 12);
    expect(sigmaZ(1.2, stability)).toBeCloseTo(z, 12);
  });

  // The formulas of Briggs 1973 worked by hand (pocket calculator) at 1 km, where their denominators matter:
  // 80/√1.1, 60/√2.5; 40/√1.1, 16/1.3.
  test('neutral and stable air at 1 km', () => {
    expect(sigmaY(1000, 'D')).toBeCloseTo(76.277, 3);
    expect(sigmaZ(1000, 'D')).toBeCloseTo(37.947, 3);
    expect(sigmaY(1000, 'F')).toBeCloseTo(38.139, 3);
    expect(sigmaZ(1000, 'F')).toBeCloseTo(12.308, 3);
  });

  test('stabler air spreads less, and farther away more, from 100 m to 10 km', () => {
    for (const [i, stability] of CLASSES.entries()) {
      for (const x of [100, 300, 1000, 3000, 10_000]) {
        expect(sigmaY(x * 1.1, stability)).toBeGreaterThan(sigmaY(x, stability));
        expect(sigmaZ(x * 1.1, stability)).toBeGreaterThan(sigmaZ(x, stability));
        const stabler = CLASSES[i + 1];
        if (stabler === undefined) continue;
        expect(sigmaY(x, stabler)).toBeLessThan(sigmaY(x, stability));
        expect(sigmaZ(x, stabler)).toBeLessThan(sigmaZ(x, stability));
      }
    }
  });
});

describe('Gaussian plume', () => {
  // D. B. Turner, "Workbook of Atmospheric Dispersion Estimates" (PHS 999-AP-26, 1970), example problem 1: a burning
  // dump, 3 g/s, wind 7 m/s, class D, 3 km downwind, σy 190 m and σz 65 m read from its figures, 1.1e-5 g/m³.
  // From memory, verify.
  test("Turner's burning dump", () => {
    const dump = { rate: 3, heightM: 0 };
    const at = { crosswindM: 0, heightM: 0 };
    expect(plumeOfSpread(dump, { sigmaYM: 190, sigmaZM: 65 }, 7, at)).toBeCloseTo(1.1e-5, 6);
    // The open-country formulas instead of the figures agree to about a third, as two curve sets do.
    const byFormula = plumeConcentration(dump, { windSpeedMs: 7, stability: 'D' }, { ...at, downwindM: 3000 });
    expect(byFormula / 1.1e-5).toBeGreaterThan(0.67);
    expect(byFormula / 1.1e-5).toBeLessThan(1.5);
  });

  test('an elevated source is mirrored at the ground: twice the free plume there, e to the minus a half at one sigma', () => {
    const spread = { sigmaYM: 30, sigmaZM: 20 };
    const ground = { crosswindM: 0, heightM: 0 };
    const onGround = plumeOfSpread({ rate: 1, heightM: 0 }, spread, 2, ground);
    expect(onGround).toBeCloseTo(1 / (Math.PI * 2 * 30 * 20), 12);
    expect(plumeOfSpread({ rate: 1, heightM: 20 }, spread, 2, ground) / onGround).toBeCloseTo(Math.exp(-0.5), 12);
    const oneSigmaAside = plumeOfSpread({ rate: 1, heightM: 0 }, spread, 2, { crosswindM: 30, heightM: 0 });
    expect(oneSigmaAside / onGround).toBeCloseTo(Math.exp(-0.5), 12);
  });

  // Conservation of mass: wind speed × concentration over a cross-section is the release rate, whatever the class.
  test.each(CLASSES)('what crosses a plane downwind is what is released, class %s', (stability) => {
    const source = { rate: 5, heightM: 12, initialSigmaYM: 4, initialSigmaZM: 2 };
    const air = { windSpeedMs: 3, stability };
    const downwindM = 800;
    const halfWidth = 8 * Math.hypot(sigmaY(downwindM, stability), 4);
    const top = 12 + 8 * Math.hypot(sigmaZ(downwindM, stability), 2);
    const steps = 300;
    const dy = (2 * halfWidth) / steps;
    const dz = top / steps;
    let flux = 0;
    for (let i = 0; i < steps; i += 1) {
      for (let j = 0; j < steps; j += 1) {
        const point = { downwindM, crosswindM: -halfWidth + (i + 0.5) * dy, heightM: (j + 0.5) * dz };
        flux += plumeConcentration(source, air, point) * air.windSpeedMs * dy * dz;
      }
    }
    expect(flux / source.rate).toBeCloseTo(1, 4);
  });

  test('nothing goes upwind, and a calm has no steady plume', () => {
    const source = { rate: 5, heightM: 0 };
    const point = { downwindM: -5, crosswindM: 0, heightM: 0 };
    expect(plumeConcentration(source, { windSpeedMs: 3, stability: 'D' }, point)).toBe(0);
    expect(() => plumeConcentration(source, { windSpeedMs: 0, stability: 'D' }, point)).toThrow(RangeError);
    expect(() => plumeConcentration(source, { windSpeedMs: Number.NaN, stability: 'D' }, point)).toThrow(RangeError);
  });

  test('a wind from the west carries the plume east; right of it is south', () => {
    const east = alongWind(100, 0, 270);
    expect(east.downwindM).toBeCloseTo(100, 9);
    expect(east.crosswindM).toBeCloseTo(0, 9);
    const south = alongWind(0, -100, 270);
    expect(south.downwindM).toBeCloseTo(0, 9);
    expect(south.crosswindM).toBeCloseTo(100, 9);
    // Wind from 245°: a place to the east-north-east lies downwind, one to the south-west upwind.
    expect(alongWind(90.63, 42.26, 245).downwindM).toBeCloseTo(100, 1);
    expect(alongWind(-90.63, -42.26, 245).downwindM).toBeCloseTo(-100, 1);
  });
});

describe('laws of the sensors', () => {
  // O2 = O2_0 (1 − x), worked from 20.9 %vol.
  test.each([
    [0.01, 20.691],
    [0.025, 20.3775],
    [0.05, 19.855],
    [0.1, 18.81],
    [0.25, 15.675],
  ])('a share of %f displaces oxygen to %f %%vol', (x, o2) => {
    expect(displacedOxygen(x)).toBeCloseTo(o2, 10);
  });

  test('19.5 %vol can hide 66,986 ppm', () => {
    expect(displacedOxygen(0.066986)).toBeCloseTo(19.5, 4);
  });

  // C(t) = C∞ (1 − e^(−t/τ)), τ = T90 / ln 10; per cent of the step after 10, 15, 30 and 60 s.
  test.each([
    [15, [78.46, 90.0, 99.0, 99.99]],
    [30, [53.58, 68.38, 90.0, 99.0]],
    [60, [31.87, 43.77, 68.38, 90.0]],
  ])('first-order response with a T90 of %i s', (t90S, shares) => {
    for (const [i, seconds] of [10, 15, 30, 60].entries()) {
      expect(respond(0, 100, seconds * 1000, t90S * 1000)).toBeCloseTo(shares[i] ?? Number.NaN, 2);
    }
  });

  test('many small steps of the response are one large one', () => {
    let shown = 20.9;
    for (let i = 0; i < 100; i += 1) shown = respond(shown, 18, 150, 15_000);
    expect(shown).toBeCloseTo(respond(20.9, 18, 15_000, 15_000), 9);
  });

  // Inverse square: I2 = I1 (d1/d2)².
  test('200 mR/h at 1 m is 2 mR/h at 10 m and 10 mR/h at 4.472 m', () => {
    expect(inverseSquare(200, 10)).toBeCloseTo(2, 12);
    expect(inverseSquare(200, 4.472)).toBeCloseTo(10, 2);
  });

  // LEL of ammonia 15 %vol (NFPA 497 and IEC 60079-20-1); methane on both bases for the arithmetic.
  test('per cent of the lower explosive limit', () => {
    expect(percentLel(0.015, 15)).toBeCloseTo(10, 10);
    expect(percentLel(0.025, 5)).toBeCloseTo(50, 10);
    expect(percentLel(0.025, 4.4)).toBeCloseTo(56.82, 2);
  });

  test('a bead is whole down to 19.5 %vol and blind at 10', () => {
    expect([20.9, 19.5, 14.75, 10, 5].map(beadShare)).toEqual([1, 1, 0.5, 0, 0]);
  });

  // true = reading × CF; a lamp of 10.6 eV sees ammonia (10.18 eV, from memory) and never carbon monoxide (14.01 eV).
  test('a photo-ionisation detector divides by the correction factor, and is blind above its lamp', () => {
    expect(pidReading(1000, { ionisationEnergyEv: 10.18, pidCorrectionFactor: 10 }, 10.6)).toBe(100);
    expect(pidReading(1000, { ionisationEnergyEv: 14.01, pidCorrectionFactor: 1 }, 10.6)).toBe(0);
  });

  // mg/m³ = ppm × MW / 24.45: 17.03 g of ammonia fill 24.45 L.
  test('a mole of gas is 24.45 litres', () => {
    expect(gasVolumeRate(17.03, 17.03)).toBeCloseTo(0.02445, 12);
  });

  test('rounds to the resolution as it is written, without −0', () => {
    expect(toResolution(18.849, 0.1)).toBe(18.8);
    expect(toResolution(20.9 + 1e-12, 0.1)).toBe(20.9);
    expect(toResolution(104, 10)).toBe(100);
    expect(Object.is(toResolution(-0.2, 1), 0)).toBe(true);
  });
});

// WGS 84 at 40° north: 111,034.63 m a degree of latitude, 85,393.86 m a degree of longitude (geodesic arithmetic).
test('length of a degree at 40° north', () => {
  expect(metresPerDegree(40).lat).toBeCloseTo(111_034.63, -1);
  expect(metresPerDegree(40).lon).toBeCloseTo(85_393.86, -1);
});
