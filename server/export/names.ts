/**
 * A name of people as a JSON string in ASCII: quotes, line breaks, comment ends and letters of every alphabet survive
 * in a comment of any language, and whoever wants the name back reads it as JSON.
 */
export function asciiJson(text: string): string {
  return JSON.stringify(text)
    .replace(/[\u007f-\uffff]/g, (unit) => `\\u${unit.charCodeAt(0).toString(16).padStart(4, '0')}`)
    .replaceAll('*/', '*\\/')
    .replaceAll('??', '?\\u003f');
}

/** Text for a comment: one line of ASCII that cannot end the comment; other characters are escaped as in JSON. */
export function commentText(text: string): string {
  return text
    .replaceAll('’', "'")
    .replace(/[^\x20-\x7e]/g, (unit) => `\\u${unit.charCodeAt(0).toString(16).padStart(4, '0')}`)
    .replaceAll('*/', '*\\/')
    .replaceAll('??', '?\\u003f')
    .replace(/\\$/, '\\u005c');
}

/** An identifier of lower-case ASCII letters, digits and underscores that begins with a letter. */
export function identifier(text: string, fallback: string): string {
  const plain = text
    .normalize('NFKD')
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '_')
    .replace(/^_+|_+$/g, '')
    .slice(0, 40)
    .replace(/_+$/, '');
  if (plain === '') return fallback;
  return /^[a-z]/.test(plain) ? plain : `${fallback}_${plain}`;
}

/** Gives each text an identifier of its own; equal ones are numbered. */
export function uniqueIdentifiers(texts: readonly string[], fallback: string): string[] {
  const taken = new Set<string>();
  return texts.map((text) => {
    const base = identifier(text, fallback);
    let name = base;
    for (let n = 2; taken.has(name); n++) name = `${base}_${n}`;
    taken.add(name);
    return name;
  });
}

const reserved = /^(con|prn|aux|nul|com\d|lpt\d)$/i;

/**
 * A file name that every file system takes: letters of all alphabets stay, what separates folders or has a meaning for
 * a shell becomes a dash.
 */
export function fileNamePart(text: string): string {
  const plain = text
    .normalize('NFC')
    .replace(/[\p{Cc}\p{Cf}\p{Zl}\p{Zp}\s"'`*/:<>?\\|%#&{}$!@+=,;]+/gu, '-')
    .replace(/^[.-]+|[.-]+$/g, '');
  const short = [...plain].slice(0, 60).join('');
  if (short === '') return 'unnamed';
  return reserved.test(short) ? `${short}-` : short;
}
