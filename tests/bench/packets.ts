/** Packets for load: six readings that wander, a status and a place, from any number of monitors. */

export type Maker = { next(): string; batch(size: number): string };

/**
 * `run` keeps the numbering of several runs apart. Readings wander by one radian every `spell` packets of all
 * monitors together.
 */
export function createMaker(run: string, monitors: number, spell = 50): Maker {
  let count = 0;
  const next = () => {
    const m = count % monitors;
    const seq = Math.floor(count / monitors); // each monitor numbers its own
    count += 1;
    const swing = Math.round(Math.sin(count / spell) * 10);
    return (
      `{"monitor":"L-${m}","boot":"${run}","seq":${seq},"ageMs":120,` +
      `"readings":{"o2":{"value":${(20.9 + swing / 100).toFixed(1)},"unit":"%vol"},"lel":{"value":${Math.max(0, swing - 8)},"unit":"%LEL"},` +
      `"co":{"value":${5 + swing},"unit":"ppm"},"h2s":{"value":0,"unit":"ppm"},"voc":{"value":${100 + swing},"unit":"ppb"},"gamma":{"value":${7 + (count % 2)},"unit":"uR/h"}},` +
      `"status":{"battery":${50 + (count % 50)},"pump":"running","motion":"moving","mode":"all","linkQuality":78,"intervalMs":1000},` +
      `"position":{"lat":${(44.05 + m / 1e5).toFixed(5)},"lon":-98.2114,"accuracy":6}}`
    );
  };
  return { next, batch: (size) => `[${Array.from({ length: size }, next).join(',')}]` };
}
