/** Points of a leaf; few, so that a leaf is searched as a plain list. */
const LEAF_POINTS = 8;

/**
 * A k-d tree over cells as points. Points are kept in tree order, so that each node is one stretch of them; node 0 is
 * the root and children come after their parent.
 */
export interface PointTree {
  readonly count: number;
  readonly dimensions: number;
  /** Cell at each place of the tree order. */
  readonly cellAt: Int32Array;
  readonly placeOf: Int32Array;
  /** Coordinates in tree order, point by point. */
  readonly points: Float64Array;
  readonly nodeCount: number;
  readonly from: Int32Array;
  readonly to: Int32Array;
  /** Left child, −1 at a leaf; the right child is in `right`. */
  readonly left: Int32Array;
  readonly right: Int32Array;
  /** Bounding boxes, node by node. */
  readonly low: Float64Array;
  readonly high: Float64Array;
}

/** Builds the tree by halving at the median of the widest side; O(n log n). */
export function buildPointTree(dimensions: number, coordinates: Float64Array): PointTree {
  const count = coordinates.length / dimensions;
  const most = Math.max(1, 4 * Math.ceil(count / LEAF_POINTS) + 1);
  const cellAt = Int32Array.from({ length: count }, (_, i) => i);
  const from = new Int32Array(most);
  const to = new Int32Array(most);
  const left = new Int32Array(most).fill(-1);
  const right = new Int32Array(most).fill(-1);
  const low = new Float64Array(most * dimensions);
  const high = new Float64Array(most * dimensions);
  to[0] = count;
  let nodeCount = 1;
  for (let node = 0; node < nodeCount; node++) {
    const widest = boundNode(node);
    if (to[node] - from[node] <= LEAF_POINTS) continue;
    const middle = (from[node] + to[node]) >> 1;
    selectMiddle(cellAt, coordinates, dimensions, widest, from[node], to[node], middle);
    left[node] = nodeCount;
    right[node] = nodeCount + 1;
    from[nodeCount] = from[node];
    to[nodeCount++] = middle;
    from[nodeCount] = middle;
    to[nodeCount++] = to[node];
  }
  const placeOf = new Int32Array(count);
  const points = new Float64Array(count * dimensions);
  for (let place = 0; place < count; place++) {
    placeOf[cellAt[place]] = place;
    for (let d = 0; d < dimensions; d++)
      points[place * dimensions + d] = coordinates[cellAt[place] * dimensions + d];
  }
  return { count, dimensions, cellAt, placeOf, points, nodeCount, from, to, left, right, low, high };

  function boundNode(node: number): number {
    let widest = 0;
    let width = -1;
    for (let d = 0; d < dimensions; d++) {
      let least = Infinity;
      let greatest = -Infinity;
      for (let i = from[node]; i < to[node]; i++) {
        const x = coordinates[cellAt[i] * dimensions + d];
        if (x < least) least = x;
        if (x > greatest) greatest = x;
      }
      low[node * dimensions + d] = least;
      high[node * dimensions + d] = greatest;
      if (greatest - least > width) {
        width = greatest - least;
        widest = d;
      }
    }
    return widest;
  }
}

/** Hoare's selection: afterwards no cell before `middle` lies above it along dimension d, and none after it below. */
function selectMiddle(
  cellAt: Int32Array,
  coordinates: Float64Array,
  dimensions: number,
  d: number,
  from: number,
  to: number,
  middle: number,
): void {
  let low = from;
  let high = to - 1;
  while (low < high) {
    const pivot = coordinates[cellAt[(low + high) >> 1] * dimensions + d];
    let i = low;
    let j = high;
    while (i <= j) {
      while (coordinates[cellAt[i] * dimensions + d] < pivot) i++;
      while (coordinates[cellAt[j] * dimensions + d] > pivot) j--;
      if (i <= j) {
        const cell = cellAt[i];
        cellAt[i++] = cellAt[j];
        cellAt[j--] = cell;
      }
    }
    if (middle <= j) high = j;
    else if (middle >= i) low = i;
    else return;
  }
}

/** Squared distance from a point (at `place` in tree order) to a node's box; 0 inside. */
export function squaredDistanceToBox(tree: PointTree, place: number, node: number): number {
  const { dimensions, points, low, high } = tree;
  let sum = 0;
  let p = place * dimensions;
  let b = node * dimensions;
  for (const end = p + dimensions; p < end; p++, b++) {
    const x = points[p];
    const outside = x < low[b] ? low[b] - x : x > high[b] ? x - high[b] : 0;
    sum += outside * outside;
  }
  return sum;
}

/** Squared distance of two points given by their places. */
export function squaredDistance(tree: PointTree, place: number, other: number): number {
  const { dimensions, points } = tree;
  let sum = 0;
  let p = place * dimensions;
  let q = other * dimensions;
  for (const end = p + dimensions; p < end; p++, q++) {
    const difference = points[p] - points[q];
    sum += difference * difference;
  }
  return sum;
}

/** Greatest of the values (in tree order) below each node; children come after their parents, so one backward pass does. */
export function greatestByNode(tree: PointTree, values: Float64Array): Float64Array {
  const greatest = new Float64Array(tree.nodeCount).fill(-Infinity);
  for (let node = tree.nodeCount - 1; node >= 0; node--) {
    if (tree.left[node] !== -1) {
      greatest[node] = Math.max(greatest[tree.left[node]], greatest[tree.right[node]]);
      continue;
    }
    for (let i = tree.from[node]; i < tree.to[node]; i++)
      if (values[i] > greatest[node]) greatest[node] = values[i];
  }
  return greatest;
}
