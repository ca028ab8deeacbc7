import type { BenchResult } from './harness.ts';

const escapeText = (text: string): string =>
  text.replace(/[&<>"]/g, (c) => ({ '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;' })[c] ?? c);

function bars(result: BenchResult): string {
  const longest = Math.max(...result.rows.map((row) => row.medianS));
  const rows = result.rows.map((row, i) => {
    const width = Math.max(1, (420 * row.medianS) / longest);
    const y = 6 + i * 26;
    return `<text x="252" y="${y + 13}" text-anchor="end">${escapeText(row.who)}</text><rect x="260" y="${y}" width="${width.toFixed(1)}" height="18" fill="${i === 0 ? '#1b5e7b' : '#9aa5ab'}"/><text x="${(266 + width).toFixed(1)}" y="${y + 13}">${(row.medianS * 1e3).toPrecision(3)} ms</text>`;
  });
  return `<svg viewBox="0 0 800 ${12 + result.rows.length * 26}" role="img" font-size="12" font-family="sans-serif">${rows.join('')}</svg>`;
}

/** One self-contained HTML page with a picture and a table for each bench. */
export function benchPage(results: readonly BenchResult[]): string {
  const sections = results.map(
    (result) =>
      `<section><h2>${escapeText(result.title)}</h2>${bars(result)}<p>${
        result.ratio === null
          ? `No ratio: ${escapeText(result.missing ?? 'the peer is missing')}`
          : `Ratio <b>${result.ratio.toPrecision(3)}</b> against ${escapeText(result.against)}`
      }</p><table>${result.rows
        .map(
          (r) =>
            `<tr><td>${escapeText(r.who)}</td><td>${(r.medianS * 1e3).toPrecision(4)} ms</td><td>${escapeText(r.note ?? '')}</td></tr>`,
        )
        .join(
          '',
        )}</table><ul>${(result.remarks ?? []).map((r) => `<li>${escapeText(r)}</li>`).join('')}</ul>${Object.values(
        result.pictures ?? {},
      ).join('')}</section>`,
  );
  return `<!doctype html><html lang="en"><meta charset="utf-8"><title>gemel benches</title><style>body{font:15px/1.5 sans-serif;max-width:60rem;margin:2rem auto}td{padding:0 1rem 0 0}</style><h1>gemel benches</h1>${sections.join('')}</html>`;
}
