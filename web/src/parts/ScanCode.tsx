import qrcode from 'qrcode-generator';

interface ScanCodeProps {
  /** What a scanner types. */
  readonly text: string;
  /** What it is, for a reader who does not see it. */
  readonly label: string;
}

/** White modules around the code that a scanner needs to find it (ISO/IEC 18004: four). */
const QUIET = 4;

/** A QR code (ISO/IEC 18004) as one path, so that it is sharp at every size on paper; error correction level M. */
export function ScanCode({ text, label }: ScanCodeProps) {
  const code = qrcode(0, 'M');
  code.addData(utf8(text), 'Byte');
  code.make();
  const count = code.getModuleCount();
  const dark: string[] = [];
  for (let row = 0; row < count; row++)
    for (let column = 0; column < count; column++)
      if (code.isDark(row, column)) dark.push(`M${column + QUIET} ${row + QUIET}h1v1h-1z`);
  const size = count + 2 * QUIET;
  return (
    <svg className="scan-code" role="img" aria-label={label} viewBox={`0 0 ${size} ${size}`}>
      <rect width={size} height={size} fill="#fff" />
      <path d={dark.join('')} fill="#000" />
    </svg>
  );
}

/** The library writes one byte a character, so a text beyond ASCII is handed over as its UTF-8 bytes. */
function utf8(text: string): string {
  return String.fromCharCode(...new TextEncoder().encode(text));
}
