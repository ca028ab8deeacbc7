import type { HistoryEntry } from './history.ts';

const escapeText = (text: string): string =>
  text.replace(/[&<>"]/g, (c) => ({ '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;' })[c] ?? c);

function bars({ rows }: HistoryEntry): string {
  const longest = Math.max(...rows.map((row) => row.medianS));
  const drawn = rows.map((row, i) => {
    const width = Math.max(1, (420 * row.medianS) / longest);
    const y = 6 + i * 26;
    return `<text x="252" y="${y + 13}" text-anchor="end">${escapeText(row.who)}</text><rect x="260" y="${y}" width="${width.toFixed(1)}" height="18" fill="${i === 0 ? '#1b5e7b' : '#9aa5ab'}"/><text x="${(266 + width).toFixed(1)}" y="${y + 13}">${(row.medianS * 1e3).toPrecision(3)} ms</text>`;
  });
  return `<svg viewBox="0 0 800 ${12 + rows.length * 26}" role="img" aria-label="Median times" font-size="12" font-family="sans-serif">${drawn.join('')}</svg>`;
}

/** The ratio of one bench over the commits, with its quartiles, from 0 on. */
function ratios(entries: readonly HistoryEntry[]): string {
  const shown = entries.flatMap(({ ratio, commit, load }) =>
    ratio === null ? [] : [{ ratio, commit, load }],
  );
  if (shown.length === 0) return '';
  const top = 1.1 * Math.max(1, ...shown.map(({ ratio }) => ratio[2]));
  const x = (i: number) => 50 + (i + 0.5) * (730 / shown.length);
  const y = (value: number) => 150 - (140 * value) / top;
  const points = shown.map(({ ratio, commit, load }, i) => {
    const at = x(i).toFixed(1);
    return `<g><title>${commit}: ${ratio[1].toPrecision(3)}, load ${load}</title><line x1="${at}" x2="${at}" y1="${y(ratio[0]).toFixed(1)}" y2="${y(ratio[2]).toFixed(1)}" stroke="#1b5e7b"/><circle cx="${at}" cy="${y(ratio[1]).toFixed(1)}" r="4" fill="#1b5e7b"/><text x="${at}" y="166" text-anchor="middle">${commit}</text><text x="${(x(i) + 7).toFixed(1)}" y="${(y(ratio[1]) + 4).toFixed(1)}">${ratio[1].toPrecision(3)}</text></g>`;
  });
  const line = shown.map(({ ratio }, i) => `${x(i).toFixed(1)},${y(ratio[1]).toFixed(1)}`).join(' ');
  return `<svg viewBox="0 0 800 174" role="img" aria-label="Ratio by commit" font-size="11" font-family="sans-serif"><line x1="50" x2="780" y1="${y(1).toFixed(1)}" y2="${y(1).toFixed(1)}" stroke="#b04a1f" stroke-dasharray="4 3"/><text x="44" y="${(y(1) + 4).toFixed(1)}" text-anchor="end">1</text><text x="44" y="154" text-anchor="end">0</text><polyline points="${line}" fill="none" stroke="#9aa5ab"/>${points.join('')}</svg>`;
}

function section(entries: readonly HistoryEntry[]): string {
  const last = entries[entries.length - 1];
  const answer =
    last.ratio === null
      ? 'No ratio.'
      : `Ratio <b>${last.ratio[1].toPrecision(3)}</b> (quartiles ${last.ratio[0].toPrecision(3)} to ${last.ratio[2].toPrecision(3)}, ${last.runs} ${last.runs === 1 ? 'run' : 'runs'}) against ${escapeText(last.against)}`;
  const rows = last.rows.map(
    (r) =>
      `<tr><td>${escapeText(r.who)}</td><td>${(r.medianS * 1e3).toPrecision(4)} ms</td><td>${escapeText(r.note ?? '')}</td></tr>`,
  );
  const remarks = last.remarks.map((r) => `<li>${escapeText(r)}</li>`);
  return `<section><h2 id="${last.name}">${escapeText(last.title)}</h2><p>${answer}; commit ${last.commit}, ${last.day}, load ${last.load} on ${last.cores} cores.</p>${ratios(entries)}${bars(last)}<details><summary>Figures</summary><table>${rows.join('')}</table><ul>${remarks.join('')}</ul></details></section>`;
}

/** One self-contained HTML page: for each bench its latest figures, and its ratio by commit. */
export function benchPage(history: readonly HistoryEntry[]): string {
  const names = [...new Set(history.map(({ name }) => name))].sort();
  const sections = names.map((name) => section(history.filter((entry) => entry.name === name)));
  const contents = names.map((name) => `<a href="#${name}">${name}</a>`).join(' · ');
  return `<!doctype html><html lang="en"><meta charset="utf-8"><title>gemel benches</title><style>body{font:15px/1.5 sans-serif;max-width:60rem;margin:2rem auto;padding:0 1rem}td{padding:0 1rem 0 0}</style><h1>gemel benches</h1><p>A ratio above 1: gemel is quicker than the peer that ran in turn with it. ${contents}</p>${sections.join('')}</html>\n`;
}
