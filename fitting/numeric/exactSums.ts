const SPLITTER = 134217729; // 2²⁷ + 1

/**
 * Sums of products in about twice double precision: start + Σ sign·a·b, error-free products and sums (Dekker
 * 1971; Ogita, Rump and Oishi, "Accurate sum and dot product", SIAM J. Sci. Comput. 26 (2005) 1955, algorithm
 * 5.3).
 */
export class ExactSum {
  private high: number;
  private low = 0;

  constructor(start = 0) {
    this.high = start;
  }

  add(value: number): void {
    const sum = this.high + value;
    const part = sum - this.high;
    this.low += this.high - (sum - part) + (value - part);
    this.high = sum;
  }

  addProduct(a: number, b: number): void {
    const product = a * b;
    const aBig = a * SPLITTER - (a * SPLITTER - a);
    const bBig = b * SPLITTER - (b * SPLITTER - b);
    const aSmall = a - aBig;
    const bSmall = b - bBig;
    const error = aSmall * bSmall - (product - aBig * bBig - aSmall * bBig - aBig * bSmall);
    this.add(product);
    this.low += error;
  }

  get value(): number {
    return this.high + this.low;
  }
}
