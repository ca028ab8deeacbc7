/** A temperature range with its own current and voltage; null leaves the general value. */
export interface TemperatureZone {
  readonly fromC: number;
  readonly toC: number;
  readonly maxCurrentA: number | null;
  readonly maxVoltageV: number | null;
}

/** A zone of the whole temperature axis; `charge` is false in the gaps between and outside the given zones. */
export interface AxisZone extends TemperatureZone {
  readonly charge: boolean;
}

/**
 * The zones in order with every gap filled by a zone in which there is no charging.
 * @throws RangeError where a zone is empty or two overlap.
 */
export function fillAxis(zones: readonly TemperatureZone[]): AxisZone[] {
  const sorted = [...zones].sort((a, b) => a.fromC - b.fromC);
  const axis: AxisZone[] = [];
  let edge = Number.NEGATIVE_INFINITY;
  const gap = (fromC: number, toC: number): AxisZone => ({
    fromC,
    toC,
    maxCurrentA: 0,
    maxVoltageV: null,
    charge: false,
  });
  for (const zone of sorted) {
    if (!(zone.toC > zone.fromC))
      throw new RangeError(
        `temperature zone from ${zone.fromC} to ${zone.toC} is empty; toC must be above fromC`,
      );
    if (zone.fromC < edge)
      throw new RangeError(
        `temperature zone from ${zone.fromC} overlaps the one before it, which ends at ${edge}`,
      );
    if (zone.fromC > edge) axis.push(gap(edge, zone.fromC));
    axis.push({ ...zone, charge: zone.maxCurrentA !== 0 });
    edge = zone.toC;
  }
  axis.push(gap(edge, Number.POSITIVE_INFINITY));
  return axis;
}

/** One axis that keeps the limits of both. */
export function jointAxis(a: readonly AxisZone[], b: readonly AxisZone[]): AxisZone[] {
  const edges = [...new Set([...a, ...b].map((zone) => zone.toC))].sort((x, y) => x - y);
  let fromC = Number.NEGATIVE_INFINITY;
  return edges.map((toC) => {
    const [one, other] = [a, b].map((axis) => axis.find((zone) => zone.toC >= toC) ?? axis[axis.length - 1]);
    const zone = {
      fromC,
      toC,
      maxCurrentA: least(one.maxCurrentA, other.maxCurrentA),
      maxVoltageV: least(one.maxVoltageV, other.maxVoltageV),
      charge: one.charge && other.charge,
    };
    fromC = toC;
    return zone;
  });
}

function least(a: number | null, b: number | null): number | null {
  if (a === null || b === null) return a ?? b;
  return Math.min(a, b);
}

/** Index of the zone that holds a temperature; an upper edge still belongs to the zone below, so that "0 to 45" includes both. */
export function zoneAt(axis: readonly AxisZone[], temperatureC: number): number {
  const found = axis.findIndex((zone) => temperatureC <= zone.toC);
  const next = axis[found + 1];
  // On a shared edge of a gap and a zone the zone holds it.
  if (!axis[found].charge && next?.charge && temperatureC === next.fromC) return found + 1;
  return found;
}

/** True where zone `a` allows less than zone `b`. */
function stricter(a: AxisZone, b: AxisZone): boolean {
  const current = (zone: AxisZone) => zone.maxCurrentA ?? Number.POSITIVE_INFINITY;
  const voltage = (zone: AxisZone) => zone.maxVoltageV ?? Number.POSITIVE_INFINITY;
  if (current(a) !== current(b)) return current(a) < current(b);
  return voltage(a) < voltage(b);
}

/**
 * A zone is never left and entered again within less: with a hysteresis of 0 a cell is held at the edge to within this, by
 * going to and fro between the currents of both sides so quickly that their mean is the current which holds it.
 */
export const LEAST_HYSTERESIS_K = 0.002;

/**
 * So far a cell may fall below the lower end of its temperatures by reversible heat alone (that is, in surroundings that do
 * not lie below it): less than temperature sensors tell apart. Common practice, no source.
 */
export const OWN_COOLING_K = 0.5;

/** Temperatures at which a zone is left upwards and downwards: a stricter zone begins at the edge, a laxer one `hysteresisK` beyond. */
export function zoneExits(
  axis: readonly AxisZone[],
  index: number,
  hysteresisK: number,
): { upC: number; downC: number } {
  const zone = axis[index];
  const above = axis[index + 1];
  const below = axis[index - 1];
  const upC = above === undefined || !stricter(zone, above) ? zone.toC : zone.toC + hysteresisK;
  const downC = below === undefined || !stricter(zone, below) ? zone.fromC : zone.fromC - hysteresisK;
  return { upC, downC };
}
