import { createTheme, type MantineColorsTuple } from '@mantine/core';

/** Blue-black ink, from washed-out to dense. */
const ink: MantineColorsTuple = [
  '#edf2f8',
  '#d8e2ee',
  '#b3c6dc',
  '#8aa8c9',
  '#678eb8',
  '#4b78a8',
  '#356398',
  '#26517f',
  '#1f4369',
  '#173350',
];

/** The dark paper and what is written on it, from chalk to night; in place of the library's neutral greys. */
const dark: MantineColorsTuple = [
  '#e7e4d8',
  '#c9ccd2',
  '#aab1bb',
  '#8c96a3',
  '#566577',
  '#3b4857',
  '#222b36',
  '#1b222b',
  '#161b22',
  '#10141a',
];

/** A laboratory notebook: a book face for headings, a plain one for text, figures that stand in columns. */
export const theme = createTheme({
  primaryColor: 'ink',
  primaryShade: { light: 7, dark: 6 },
  autoContrast: true,
  luminanceThreshold: 0.35,
  colors: { ink, dark },
  fontFamily: "Seravek, 'Gill Sans Nova', Ubuntu, Calibri, 'DejaVu Sans', 'Noto Sans', sans-serif",
  fontFamilyMonospace: "'DejaVu Sans Mono', 'Cascadia Mono', Menlo, Consolas, monospace",
  headings: {
    fontFamily: "Charter, 'Bitstream Charter', 'Sitka Text', 'DejaVu Serif', Cambria, serif",
    fontWeight: '600',
  },
  defaultRadius: 2,
  cursorType: 'pointer',
  respectReducedMotion: true,
  components: {
    // The list itself scrolls, which belongs to the field that moves through it, and no area around the list.
    MultiSelect: {
      defaultProps: { withScrollArea: false, styles: { options: { maxHeight: 260, overflowY: 'auto' } } },
    },
  },
});
