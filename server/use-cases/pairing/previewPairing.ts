import { countAcceptable } from '../../assess/pairing/countAcceptable.ts';
import type { Context } from '../../context.ts';
import type { PairingPreview, PreviewPairing } from '../../contract/pairings.ts';
import { collectCells } from './collectCells.ts';

/** What criteria would allow on stored cells: offered cells, acceptable pairs and the most pairs at once. */
export async function previewPairing(context: Context, request: PreviewPairing): Promise<PairingPreview> {
  const { cells, criteria, gates } = await collectCells(context, request);
  return countAcceptable(
    cells.map((cell) => cell.toPair),
    criteria,
    gates,
  );
}
