// npm run rooms: draws which folder imports which, from the sources, as docs/*.svg for DEVELOPERS.md.
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join, normalize } from 'node:path';
import { root } from './prepare.mjs';

const sources = ['fitting', 'server', 'seed', 'web/src'].flatMap((folder) =>
  readdirSync(join(root, folder), { recursive: true })
    .map((file) => `${folder}/${file}`.replaceAll('\\', '/'))
    .filter((file) => /\.tsx?$/.test(file) && !file.startsWith('server/store/client')),
);

/** Lines of each room and the number of imports from room to room. */
function roomsOf(roomOf) {
  const lines = new Map();
  const arrows = new Map();
  for (const file of sources) {
    const from = roomOf(file);
    if (from === null) continue;
    const text = readFileSync(join(root, file), 'utf8');
    lines.set(from, (lines.get(from) ?? 0) + text.split('\n').length);
    for (const [, path] of text.matchAll(/from '(\.[^']*)'/g)) {
      const to = roomOf(normalize(join(dirname(file), path)).replaceAll('\\', '/'));
      if (to === null || to === from) continue;
      const key = `${from}\n${to}`;
      arrows.set(key, (arrows.get(key) ?? 0) + 1);
    }
  }
  return { lines, arrows: [...arrows].map(([key, count]) => [...key.split('\n'), count]) };
}

/** The floor of each room: one above the highest room that it imports; an arrow that closes a circle is not followed. */
function floorsOf(lines, arrows) {
  const floors = new Map();
  const visit = (room, path) => {
    if (floors.has(room)) return floors.get(room);
    const below = arrows
      .filter(([from, to]) => from === room && !path.includes(to))
      .map(([, to]) => visit(to, [...path, room]));
    const floor = below.length === 0 ? 0 : 1 + Math.max(...below);
    floors.set(room, floor);
    return floor;
  };
  for (const room of [...lines.keys()].sort()) visit(room, []);
  return floors;
}

function draw({ lines, arrows }, title) {
  const floors = floorsOf(lines, arrows);
  const highest = Math.max(...floors.values());
  const [width, height, stepX, stepY] = [150, 44, 176, 96];
  const rows = Array.from({ length: highest + 1 }, (_, floor) =>
    [...floors]
      .filter(([, at]) => at === floor)
      .map(([room]) => room)
      .sort(),
  );
  const wide = Math.max(...rows.map((row) => row.length)) * stepX + 20;
  const place = new Map();
  rows.forEach((row, floor) => {
    row.forEach((room, i) => {
      place.set(room, [(wide - row.length * stepX) / 2 + i * stepX + 13, 20 + (highest - floor) * stepY]);
    });
  });
  const drawn = arrows.map(([from, to, count]) => {
    const [x1, y1] = place.get(from);
    const [x2, y2] = place.get(to);
    const up = floors.get(from) <= floors.get(to);
    const [startY, endY] = up ? [y1, y2 + height] : [y1 + height, y2];
    const middle = (startY + endY) / 2;
    return `<path d="M${x1 + width / 2} ${startY}C${x1 + width / 2} ${middle} ${x2 + width / 2} ${middle} ${x2 + width / 2} ${endY}" class="${up ? 'up' : 'down'}" stroke-width="${(0.6 + Math.log10(count)).toFixed(2)}" marker-end="url(#end)"><title>${from} imports ${to}: ${count}</title></path>`;
  });
  const boxes = [...place].map(
    ([room, [x, y]]) =>
      `<rect x="${x}" y="${y}" width="${width}" height="${height}" rx="5"/><text x="${x + width / 2}" y="${y + 19}">${room}</text><text x="${x + width / 2}" y="${y + 35}" class="lines">${lines.get(room)} lines</text>`,
  );
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${wide} ${(highest + 1) * stepY}" font-family="sans-serif" font-size="14" text-anchor="middle" role="img" aria-label="${title}">
<title>${title}</title>
<style>rect{fill:#fff;stroke:#345}text{fill:#123}.lines{font-size:11px;fill:#567}path{fill:none}.down{stroke:#789;opacity:.6}.up{stroke:#b30}</style>
<defs><marker id="end" viewBox="0 0 8 8" refX="7" refY="4" markerWidth="6" markerHeight="6" markerUnits="userSpaceOnUse" orient="auto"><path d="M0 0L8 4L0 8z" style="fill:#567"/></marker></defs>
<rect x="0" y="0" width="100%" height="100%" style="fill:#fafbfc;stroke:none"/>
${drawn.join('\n')}
${boxes.join('\n')}
</svg>
`;
}

const within = (folder, depth) => (file) =>
  file.startsWith(`${folder}/`) && file.split('/').length > depth + 1 ? file.split('/')[depth] : null;
const pictures = {
  rooms: (file) =>
    file.startsWith('server/contract/')
      ? 'server/contract'
      : (/^(fitting|server|seed|web)\//.exec(file)?.[1] ?? null),
  server: within('server', 1),
  fitting: within('fitting', 1),
};
mkdirSync(join(root, 'docs'), { recursive: true });
for (const [name, roomOf] of Object.entries(pictures))
  writeFileSync(join(root, 'docs', `${name}.svg`), draw(roomsOf(roomOf), `What imports what: ${name}`));
