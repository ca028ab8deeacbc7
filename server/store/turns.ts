/** Lets one after another in, in the order they came. */
export class Turns {
  private last: Promise<void> = Promise.resolve();

  /** Waits for its turn; what it returns lets the next one in. */
  async take(): Promise<() => void> {
    const before = this.last;
    let leave = (): void => {};
    this.last = new Promise((resolve) => {
      leave = resolve;
    });
    await before;
    return leave;
  }
}
