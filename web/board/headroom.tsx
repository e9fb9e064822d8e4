/**
 * The share of the way from normal to the highest level that is left: full where all is normal, empty at that level
 * or beyond it, with a tick at each lower level.
 */
export function Headroom({ share, ticks }: { share: number; ticks: readonly number[] }) {
  return (
    <div class="headroom">
      <span class="unseen">headroom {Math.round(share * 100)} per cent</span>
      <div class="left" style={{ width: `${share * 100}%` }} />
      {ticks
        .filter((tick) => tick > 0 && tick < 1)
        .map((tick) => (
          <div class="tick" key={tick} style={{ left: `${tick * 100}%` }} />
        ))}
    </div>
  );
}
