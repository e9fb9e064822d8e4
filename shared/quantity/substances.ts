/**
 * What is known of some substances: molar mass, ionisation energy, lower explosive limits and published exposure limits,
 * each value with where it comes from and how sure that is. Values tagged memory were not read in a source: verify them
 * before they are relied on. Limits are ppm unless they say otherwise. Missing means not known here, never 0.
 */
import type { SourceTag } from './worked.ts';

export type Fact = { readonly value: number; readonly source: string; readonly tag: SourceTag };
export type LelFact = Fact & { readonly basis: string };
export type LimitKind = 'TWA' | 'ST' | 'C' | 'peak' | 'IDLH';
export type LimitFact = Fact & { readonly kind: LimitKind; readonly note?: string };

export type Substance = {
  readonly name: string;
  readonly cas: string;
  /** g/mol */
  readonly molarMass?: Fact;
  /** mg/m³ per ppm at 25 °C and 1 atm as printed; within 1 % of molar mass ÷ 24.45. */
  readonly massPerPpm?: Fact;
  /** eV */
  readonly ionisationEv?: Fact;
  /** %vol; several lists differ. */
  readonly lel: readonly LelFact[];
  /** Present where the source says that it does not burn. */
  readonly nonflammable?: Omit<Fact, 'value'>;
  /** NIOSH recommended limits. */
  readonly rel: readonly LimitFact[];
  /** OSHA limits. */
  readonly pel: readonly LimitFact[];
  readonly idlh: readonly LimitFact[];
};

type Origin = readonly [source: string, tag: SourceTag];
const MEMORY: Origin = ['NIOSH Pocket Guide, from memory', 'memory'];
const MOLAR: Origin = ['Molar mass ÷ 24.45 L/mol', 'calc'];
const NFPA: Origin = ['Data table of the open-source package chemicals 1.5.2, NFPA 497:2008', 'seen-copy'];
const IEC: Origin = ['Data table of the open-source package chemicals 1.5.2, IEC 60079-20-1:2010', 'seen-copy'];

function fact(value: number, [source, tag]: Origin): Fact {
  return { value, source, tag };
}
function lel(value: number, basis: string, origin: Origin): LelFact {
  return { ...fact(value, origin), basis };
}
function limit(kind: LimitKind, value: number, origin: Origin, note?: string): LimitFact {
  return { ...fact(value, origin), kind, ...(note === undefined ? {} : { note }) };
}
const niosh = (page: string): Origin => [`NIOSH IDLH documentation, cdc.gov/niosh/idlh/${page}`, 'seen'];
const US = 'NIOSH';
const NFPA_497 = 'NFPA 497:2008';
const IEC_20_1 = 'IEC 60079-20-1:2010';

const CO = niosh('630080');
const CO_OSHA: Origin = ['osha.gov/chemicaldata/462', 'seen'];
const H2S = niosh('7783064');
const SO2 = niosh('7446095');
const NH3_STATE: Origin = ['Minnesota Department of Agriculture page', 'seen-copy'];
const NH3_COPY: Origin = ['Copy of the NIOSH IDLH document', 'seen-copy'];
const CL2: Origin = ['NIOSH Pocket Guide, npgd0115 (copy), and cdc.gov/niosh/idlh/7782505', 'seen'];
const HCN = niosh('74908');
const HCN_NAP: Origin = ['National Academies Press 12040, p. 10', 'seen'];
const NO2 = niosh('10102440');
const PH3: Origin = ['NIOSH Pocket Guide, npgd0505 (copy)', 'seen'];
const BENZENE: Origin = ['NIOSH Pocket Guide, npgd0049 (copy)', 'seen'];
const TOLUENE = niosh('108883');
const ETO = niosh('75218');
const HCL = niosh('7647010');
const HF: Origin = ['OSHA Chemical Sampling Information CH_246500 (web archive, 2009)', 'seen'];
const CO2 = niosh('124389');

export const SUBSTANCES: readonly Substance[] = [
  {
    name: 'ammonia',
    cas: '7664-41-7',
    molarMass: fact(17.0, ['NIOSH/OSHA guideline (copy)', 'seen-copy']),
    massPerPpm: fact(0.6965, ['MassDEP', 'seen-copy']),
    ionisationEv: fact(10.18, MEMORY),
    lel: [lel(15, US, NH3_COPY), lel(15, NFPA_497, NFPA), lel(15, IEC_20_1, IEC)],
    rel: [limit('TWA', 25, NH3_STATE), limit('ST', 35, NH3_STATE)],
    pel: [limit('TWA', 50, ['OSHA Chemical Sampling Information CH_218300', 'seen'])],
    idlh: [limit('IDLH', 300, NH3_STATE)],
  },
  {
    name: 'benzene',
    cas: '71-43-2',
    molarMass: fact(78.1, BENZENE),
    massPerPpm: fact(3.19, BENZENE),
    ionisationEv: fact(9.24, BENZENE),
    lel: [lel(1.2, US, BENZENE), lel(1.2, NFPA_497, NFPA), lel(1.2, IEC_20_1, IEC)],
    rel: [limit('TWA', 0.1, BENZENE, 'Ca'), limit('ST', 1, BENZENE)],
    pel: [limit('TWA', 1, BENZENE, '1910.1028'), limit('ST', 5, BENZENE, '1910.1028')],
    idlh: [limit('IDLH', 500, BENZENE, 'Ca')],
  },
  {
    name: 'carbon dioxide',
    cas: '124-38-9',
    molarMass: fact(44.0, MEMORY),
    massPerPpm: fact(1.8, MEMORY),
    ionisationEv: fact(13.77, MEMORY),
    lel: [],
    nonflammable: { source: CO2[0], tag: CO2[1] },
    rel: [limit('TWA', 5000, CO2), limit('ST', 30_000, CO2)],
    pel: [limit('TWA', 5000, CO2)],
    idlh: [limit('IDLH', 40_000, CO2)],
  },
  {
    name: 'carbon monoxide',
    cas: '630-08-0',
    molarMass: fact(28.0, CO_OSHA),
    massPerPpm: fact(1.15, MEMORY),
    ionisationEv: fact(14.01, CO_OSHA),
    lel: [lel(12.5, US, CO), lel(12.5, NFPA_497, NFPA), lel(10.9, IEC_20_1, IEC)],
    rel: [limit('TWA', 35, CO), limit('C', 200, CO)],
    pel: [limit('TWA', 50, CO)],
    idlh: [limit('IDLH', 1200, MEMORY)],
  },
  {
    name: 'chlorine',
    cas: '7782-50-5',
    molarMass: fact(70.9, CL2),
    massPerPpm: fact(2.9, CL2),
    ionisationEv: fact(11.48, CL2),
    lel: [],
    nonflammable: { source: CL2[0], tag: CL2[1] },
    rel: [limit('C', 0.5, CL2, '15 min')],
    pel: [limit('C', 1, CL2)],
    idlh: [limit('IDLH', 10, CL2)],
  },
  {
    name: 'ethylene oxide',
    cas: '75-21-8',
    molarMass: fact(44.1, MEMORY),
    massPerPpm: fact(1.8, MEMORY),
    ionisationEv: fact(10.56, ['NIOSH/OSHA guideline', 'seen']),
    lel: [lel(3.0, US, ETO), lel(3.0, NFPA_497, NFPA), lel(2.6, IEC_20_1, IEC)],
    rel: [limit('TWA', 0.1, ETO, 'Ca, less than'), limit('C', 5, ETO, '10 min a day')],
    pel: [limit('TWA', 1, ETO, '1910.1047'), limit('ST', 5, ETO, '15-min excursion, 1910.1047')],
    idlh: [limit('IDLH', 800, MEMORY, 'Ca')],
  },
  {
    name: 'gasoline',
    cas: '8006-61-9',
    // A blend: its molar mass and ionisation energy are not one number, and none was read in a source.
    lel: [lel(1.4, NFPA_497, NFPA), lel(1.4, IEC_20_1, IEC)],
    rel: [],
    pel: [],
    idlh: [],
  },
  {
    name: 'hydrogen chloride',
    cas: '7647-01-0',
    molarMass: fact(36.5, MEMORY),
    massPerPpm: fact(1.49, ['Cal/OSHA HEAC draft, 2008', 'seen-copy']),
    ionisationEv: fact(12.74, MEMORY),
    lel: [],
    nonflammable: { source: HCL[0], tag: HCL[1] },
    rel: [limit('C', 5, HCL)],
    pel: [limit('C', 5, HCL)],
    idlh: [
      limit('IDLH', 45, ['AIHA news of 2025-07-24 on the new NIOSH IDLH profile', 'seen-copy'], '2025'),
      limit('IDLH', 50, MEMORY, '1994'),
    ],
  },
  {
    name: 'hydrogen cyanide',
    cas: '74-90-8',
    molarMass: fact(27.0, MEMORY),
    massPerPpm: fact(1.1, MEMORY),
    ionisationEv: fact(13.6, MEMORY),
    lel: [lel(5.6, US, HCN), lel(5.6, NFPA_497, NFPA), lel(5.4, IEC_20_1, IEC)],
    rel: [limit('ST', 4.7, HCN, 'skin')],
    pel: [limit('TWA', 10, HCN, 'skin')],
    idlh: [limit('IDLH', 50, HCN_NAP)],
  },
  {
    name: 'hydrogen fluoride',
    cas: '7664-39-3',
    molarMass: fact(20.0, MEMORY),
    massPerPpm: fact(0.82, MOLAR),
    ionisationEv: fact(15.98, MEMORY),
    lel: [],
    nonflammable: { source: MEMORY[0], tag: MEMORY[1] },
    rel: [limit('TWA', 3, HF), limit('C', 6, HF, '15 min')],
    pel: [limit('TWA', 3, HF, 'Table Z-2')],
    idlh: [limit('IDLH', 30, HF)],
  },
  {
    name: 'hydrogen sulfide',
    cas: '7783-06-4',
    molarMass: fact(34.1, MEMORY),
    massPerPpm: fact(1.4, MEMORY),
    ionisationEv: fact(10.46, MEMORY),
    lel: [lel(4.0, US, H2S), lel(4.0, NFPA_497, NFPA), lel(4.0, IEC_20_1, IEC)],
    rel: [limit('C', 10, H2S, '10 min')],
    pel: [limit('C', 20, H2S, 'Table Z-2'), limit('peak', 50, H2S, '10 min, Table Z-2')],
    idlh: [limit('IDLH', 100, ['PMC5777517, Table 3', 'seen'])],
  },
  {
    name: 'isobutylene',
    cas: '115-11-7',
    molarMass: fact(56.11, ['From memory', 'memory']),
    massPerPpm: fact(2.295, MOLAR),
    ionisationEv: fact(9.24, ['From memory', 'memory']),
    lel: [lel(1.8, 'United States practice', ['From memory', 'memory']), lel(1.6, IEC_20_1, IEC)],
    rel: [],
    pel: [],
    idlh: [],
  },
  {
    name: 'methane',
    cas: '74-82-8',
    molarMass: fact(16.04, ['From memory', 'memory']),
    massPerPpm: fact(0.656, MOLAR),
    ionisationEv: fact(12.6, ['From memory', 'memory']),
    lel: [lel(5.0, NFPA_497, NFPA), lel(4.4, IEC_20_1, IEC)],
    rel: [],
    pel: [],
    idlh: [],
  },
  {
    name: 'nitrogen dioxide',
    cas: '10102-44-0',
    molarMass: fact(46.0, MEMORY),
    massPerPpm: fact(1.88, MEMORY),
    ionisationEv: fact(9.75, MEMORY),
    lel: [],
    nonflammable: { source: MEMORY[0], tag: MEMORY[1] },
    rel: [limit('ST', 1, NO2)],
    pel: [limit('C', 5, NO2)],
    idlh: [
      limit('IDLH', 13, ['EPA HERO 4795768, abstract of the NIOSH IDLH profile', 'seen'], '2017'),
      limit('IDLH', 20, MEMORY, '1994'),
    ],
  },
  {
    name: 'phosphine',
    cas: '7803-51-2',
    molarMass: fact(34.0, PH3),
    massPerPpm: fact(1.39, PH3),
    ionisationEv: fact(9.96, PH3),
    lel: [lel(1.79, US, PH3)],
    rel: [limit('TWA', 0.3, PH3), limit('ST', 1, PH3)],
    pel: [limit('TWA', 0.3, PH3)],
    idlh: [limit('IDLH', 50, PH3)],
  },
  {
    name: 'sulfur dioxide',
    cas: '7446-09-5',
    molarMass: fact(64.1, MEMORY),
    massPerPpm: fact(2.62, MEMORY),
    ionisationEv: fact(12.3, MEMORY),
    lel: [],
    nonflammable: { source: SO2[0], tag: SO2[1] },
    rel: [limit('TWA', 2, SO2), limit('ST', 5, SO2)],
    pel: [limit('TWA', 5, SO2)],
    idlh: [limit('IDLH', 100, MEMORY)],
  },
  {
    name: 'toluene',
    cas: '108-88-3',
    molarMass: fact(92.1, MEMORY),
    massPerPpm: fact(3.77, MEMORY),
    ionisationEv: fact(8.82, MEMORY),
    lel: [lel(1.1, US, TOLUENE), lel(1.1, NFPA_497, NFPA), lel(1.0, IEC_20_1, IEC)],
    rel: [limit('TWA', 100, TOLUENE), limit('ST', 150, TOLUENE)],
    pel: [limit('TWA', 200, TOLUENE), limit('C', 300, TOLUENE), limit('peak', 500, TOLUENE, '10 min')],
    idlh: [limit('IDLH', 500, MEMORY)],
  },
];

/** The substance of that name, or null. */
export function findSubstance(name: string): Substance | null {
  return SUBSTANCES.find((substance) => substance.name === name) ?? null;
}
