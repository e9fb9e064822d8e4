/** The page's colours for charts; read when a chart is made, which happens anew with the theme. */
export type ChartPalette = {
  readonly ink: string;
  readonly soft: string;
  readonly line: string;
  readonly panel: string;
  readonly spread: string;
  readonly hatch: string;
  readonly danger: string;
  readonly caution: string;
  readonly cautionEdge: string;
  readonly notice: string;
};

export function readChartPalette(element: HTMLElement): ChartPalette {
  const style = getComputedStyle(element);
  const colour = (name: string) => style.getPropertyValue(name).trim();
  return {
    ink: colour('--ink'),
    soft: colour('--ink-soft'),
    line: colour('--line'),
    panel: colour('--panel'),
    spread: colour('--line'),
    hatch: colour('--hatch'),
    danger: colour('--danger-text'),
    caution: colour('--caution'),
    cautionEdge: colour('--caution-edge'),
    notice: colour('--notice'),
  };
}
