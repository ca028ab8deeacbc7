/**
 * A binary heap of (time, payload) that only grows and pops: an event that has lost its meaning stays inside and is
 * recognised by its reader. Times are exact integers or halves held as doubles.
 */
export class EventHeap {
  size = 0;
  private times: Float64Array;
  private payloads: Int32Array;

  constructor(capacity: number) {
    this.times = new Float64Array(Math.max(16, capacity));
    this.payloads = new Int32Array(Math.max(16, capacity));
  }

  clear(): void {
    this.size = 0;
  }

  /** Time of the earliest event, Infinity when empty. */
  earliest(): number {
    return this.size === 0 ? Infinity : this.times[0];
  }

  push(time: number, payload: number): void {
    if (this.size === this.times.length) this.grow();
    const { times, payloads } = this;
    let hole = this.size++;
    while (hole > 0) {
      const above = (hole - 1) >> 1;
      if (times[above] <= time) break;
      times[hole] = times[above];
      payloads[hole] = payloads[above];
      hole = above;
    }
    times[hole] = time;
    payloads[hole] = payload;
  }

  /** Removes the earliest event and returns its payload; read its time with `earliest` beforehand. */
  pop(): number {
    const { times, payloads } = this;
    const result = payloads[0];
    const last = --this.size;
    const time = times[last];
    const payload = payloads[last];
    let hole = 0;
    for (let child = 1; child < last; child = 2 * hole + 1) {
      if (child + 1 < last && times[child + 1] < times[child]) child++;
      if (times[child] >= time) break;
      times[hole] = times[child];
      payloads[hole] = payloads[child];
      hole = child;
    }
    times[hole] = time;
    payloads[hole] = payload;
    return result;
  }

  private grow(): void {
    const times = new Float64Array(2 * this.times.length);
    const payloads = new Int32Array(times.length);
    times.set(this.times);
    payloads.set(this.payloads);
    this.times = times;
    this.payloads = payloads;
  }
}
