/** What this board is not; on every page that shows a value. */
export function Cautions() {
  return (
    <footer class="cautions">
      <b>This board advises, it does not decide. It cannot signal the entrants: use the radio.</b> Your agency’s
      procedures and licensed or certified people govern. Published limits are starting points. A zero is not an
      all-clear.
    </footer>
  );
}
