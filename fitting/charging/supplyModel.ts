import type { SupplyLaw as ControlledBySupply } from './controlLaw.ts';
import { efficiencyAt } from './efficiency.ts';
import { RatioModel } from './ratioStage.ts';
import {
  type ConverterMode,
  downToStep,
  highestVoltage,
  lowestVoltage,
  type Supply,
  type SupplyLimitName,
  upToStep,
} from './supply.ts';

/** A limit as a constant stack current; `path` where it is that of one path of the converter. */
export interface CurrentCap {
  readonly limit: SupplyLimitName;
  readonly currentA: number;
  readonly path: number | null;
}

/** A limit that depends on the stack voltage, as a law that holds while it binds. */
export interface SupplyLaw {
  readonly limit: SupplyLimitName;
  readonly law: ControlledBySupply;
}

/** Bus values for a stack current and voltage: voltage at the source, at the converter's input, and bus current. */
export interface BusValues {
  sourceV: number;
  converterV: number;
  currentA: number;
}

/**
 * Source, cable, converter and the resistance between converter and cells as one chain: what the bus carries for a stack
 * current and the sum of the cells' voltages, and the limits that follow.
 */
export class SupplyModel {
  readonly supply: Supply;
  readonly lowestV: number;
  readonly highestV: number;
  readonly stage: RatioModel;
  private readonly stackOhm: number;

  /** @param stackOhm resistance between the converter's output and the cells */
  constructor(supply: Supply, stackOhm: number) {
    this.supply = supply;
    this.stackOhm = stackOhm;
    this.lowestV = lowestVoltage(supply.source);
    this.highestV = highestVoltage(supply.source);
    this.stage = new RatioModel(supply.ratioStage);
  }

  /** Writes the bus values for a stack current and the sum of the cells' voltages into `out`. */
  bus(mode: ConverterMode, stackA: number, cellsV: number, out: BusValues): void {
    const { cable, regulator } = this.supply;
    const outputV = cellsV + this.stackOhm * stackA;
    if (mode === 'regulator' && regulator !== null) {
      const inputW = (stackA * outputV) / efficiencyAt(regulator.efficiency, stackA);
      const source = regulator.inputVoltageV;
      // V_s I_b − R I_b² = inputW, the smaller root, written so that it does not cancel.
      const root = Math.sqrt(Math.max(source * source - 4 * cable.resistanceOhm * inputW, 0));
      out.currentA = (2 * inputW) / (source + root);
      out.sourceV = source;
      out.converterV = source - out.currentA * cable.resistanceOhm;
      return;
    }
    out.currentA = this.stage.inputCurrent(stackA);
    out.converterV = this.stage.inputVoltage(stackA, outputV);
    out.sourceV = out.converterV + out.currentA * cable.resistanceOhm;
  }

  /** Voltage that the source is set to for a bus voltage: its next step upwards, within its range. */
  setVoltage(busV: number): number {
    return Math.min(Math.max(upToStep(busV, this.supply.source.voltageStepV), this.lowestV), this.highestV);
  }

  /** Stack current limits that do not depend on the stack's voltage, in a mode. */
  caps(mode: ConverterMode): CurrentCap[] {
    const { source, cable, regulator } = this.supply;
    if (mode === 'regulator' && regulator !== null)
      return [{ limit: 'regulator-current', currentA: regulator.maxOutputCurrentA, path: null }];
    const ofBus = (busA: number) => this.stage.outputCurrent(downToStep(busA, source.currentStepA));
    const caps: CurrentCap[] = [{ limit: 'source-current', currentA: ofBus(source.maxCurrentA), path: null }];
    if (cable.maxCurrentA !== null)
      caps.push({ limit: 'cable-current', currentA: ofBus(cable.maxCurrentA), path: null });
    const first = this.stage.firstPathLimit();
    if (first !== null) caps.push({ limit: 'converter-current', ...first });
    return caps;
  }

  /** Limits that depend on the stack's voltage, in a mode. */
  laws(mode: ConverterMode): SupplyLaw[] {
    const { source, cable, regulator } = this.supply;
    const laws: SupplyLaw[] = [];
    const add = (limit: SupplyLimitName, target: number, of: (bus: BusValues) => number) => {
      const bus = { sourceV: 0, converterV: 0, currentA: 0 };
      const value = (stackA: number, cellsV: number) => {
        this.bus(mode, stackA, cellsV, bus);
        return of(bus);
      };
      laws.push({ limit, law: { kind: 'supply', value, target } });
    };
    if (mode === 'regulator' && regulator !== null) {
      add('source-current', downToStep(source.maxCurrentA, source.currentStepA), (bus) => bus.currentA);
      if (cable.maxCurrentA !== null)
        add('cable-current', downToStep(cable.maxCurrentA, source.currentStepA), (bus) => bus.currentA);
    } else add('source-voltage', this.highestV, (bus) => bus.sourceV);
    if (source.maxPowerW !== null) add('source-power', source.maxPowerW, (bus) => bus.sourceV * bus.currentA);
    return laws;
  }

  /**
   * The stack current next below that the source can be set to in a mode: a whole number of its steps through the fixed
   * ratio. What is below one step, and what a regulator gives, is left as it is.
   */
  settable(mode: ConverterMode, stackA: number): number {
    const step = this.supply.source.currentStepA;
    if (step === null || mode === 'regulator') return stackA;
    const set = this.downToSet(stackA);
    return set > 0 ? Math.min(set, stackA) : stackA;
  }

  /** The same through the fixed ratio alone: 0 below one step. */
  downToSet(stackA: number): number {
    const { stage, supply } = this;
    return stage.outputCurrent(downToStep(stage.inputCurrent(stackA), supply.source.currentStepA));
  }

  /** The stack current one step of the source below one that is set; 0 where there is none. */
  stepBelow(stackA: number): number {
    const step = this.supply.source.currentStepA ?? 0;
    return this.stage.outputCurrent(downToStep(this.stage.inputCurrent(stackA) - step / 2, step));
  }
}
