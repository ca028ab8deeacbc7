/**
 * The trade's words in German, as whole words or as parts of compounds, and what they are called here. Longer ones come
 * first, so that "Innenwiderstand" is not read as "Widerstand".
 */
const german: readonly (readonly [RegExp, string])[] = [
  [/leerlaufspannung|ruhespannung/g, 'ocv'],
  [/gleichstromwiderstand|gleichstrominnenwiderstand/g, 'dc resistance'],
  [/wechselstromwiderstand|wechselstrominnenwiderstand/g, 'ac resistance'],
  [/innenwiderstand/g, 'internal resistance'],
  [/widerstand/g, 'resistance'],
  [/selbstentladung(?:srate)?/g, 'self discharge'],
  [/ladezustand/g, 'soc'],
  [/seriennummer|seriennr|serien nr/g, 'serial number'],
  [/zell(?:en)? ?(?:nummer|nr)|zellbezeichnung/g, 'cell number'],
  [/entlade(?:ne|nde)?(?= ?(?:kapazität|kapazitaet|energie|strom|dauer|zeit))/g, 'discharge '],
  [/(?<!ent)lade(?:ne)?(?= ?(?:kapazität|kapazitaet|energie|strom|dauer|zeit))/g, 'charge '],
  [/nenn(?= ?(?:kapazität|kapazitaet))/g, 'rated '],
  [/zell(?= ?(?:spannung|temperatur|strom))/g, 'cell '],
  [/oberflächen(?= ?temperatur)/g, 'surface '],
  [/(?:prüf|test)(?= ?(?:zeit|dauer))/g, 'test '],
  [/schritt(?= ?(?:zeit|dauer|nummer|nr|art|typ))/g, 'step '],
  [/kapazität|kapazitaet/g, 'capacity'],
  [/impedanz/g, 'impedance'],
  [/spannung/g, 'voltage'],
  [/(?<=^|\W)strom(?=$|\W)/g, 'current'],
  [/temperatur(?!e)/g, 'temperature'],
  [/frequenz/g, 'frequency'],
  [/realteil/g, 'real part'],
  [/imaginärteil|imaginaerteil/g, 'imaginary part'],
  [/energie/g, 'energy'],
  [/uhrzeit|zeit(?=$|\W)/g, 'time'],
  [/(?<=^|\W)datum(?=$|\W)/g, 'date'],
  [/(?<=^|\W)dauer(?=$|\W)/g, 'duration'],
  [/(?<=^|\W)zykl(?:us|en)(?=$|\W)/g, 'cycle'],
  [/zyklus ?(?:nummer|nr)/g, 'cycle number'],
  [/(?<=^|\W)schritt(?=$|\W)/g, 'step'],
  [/(?<=^|\W)(?:zelle|zellen)(?=$|\W)/g, 'cell'],
  [/(?<=^|\W)(?:nummer|nr)(?=$|\W)/g, 'number'],
  [/(?<=^|\W)dicke(?=$|\W)/g, 'thickness'],
  [/(?<=^|\W)(?:masse|gewicht)(?=$|\W)/g, 'mass'],
  [/(?<=^|\W)(?:zustand|status)(?=$|\W)/g, 'state'],
  [/(?<=^|\W)(?:schaden|beschädigung|auffälligkeit)(?=$|\W)/g, 'damage'],
  [/messunsicherheit|unsicherheit/g, 'uncertainty'],
  [/(?<=^|\W)wert(?=$|\W)/g, 'value'],
];

/** The trade's words in French, as whole words. */
const french: readonly (readonly [RegExp, string])[] = [
  [/tension (?:a|à) vide/g, 'ocv'],
  [/r[ée]sistance interne/g, 'internal resistance'],
  [/capacit[ée] (?:de |en )?d[ée]charge/g, 'discharge capacity'],
  [/capacit[ée] (?:de |en )?charge/g, 'charge capacity'],
  [/capacit[ée](?=$|\W)/g, 'capacity'],
  [/[ée]nergie (?:de |en )?d[ée]charge/g, 'discharge energy'],
  [/[ée]nergie (?:de |en )?charge/g, 'charge energy'],
  [/(?:n° |num[ée]ro )(?:de )?s[ée]rie/g, 'serial number'],
  [/(?:n° |num[ée]ro )(?:de |du )?cycle/g, 'cycle number'],
  [/(?:n° |num[ée]ro )(?:de |du )?(?:pas|palier)/g, 'step number'],
  [/temps (?:de test|[ée]coul[ée]|total)/g, 'test time'],
  [/temps (?:de |du )?(?:pas|palier)/g, 'step time'],
  [/(?<=^|\W)temps(?=$|\W)/g, 'time'],
  [/(?<=^|\W)tension(?=$|\W)/g, 'voltage'],
  [/(?<=^|\W)(?:courant|intensit[ée])(?=$|\W)/g, 'current'],
  [/temp[ée]rature/g, 'temperature'],
  [/(?<=^|\W)cellule(?=$|\W)/g, 'cell'],
  [/(?<=^|\W)dur[ée]e(?=$|\W)/g, 'duration'],
  [/fr[ée]quence/g, 'frequency'],
  [/(?<=^|\W)d[ée]charge(?=$|\W)/g, 'discharge'],
  [/(?<=^|\W)(?:[ée]tat de charge)(?=$|\W)/g, 'soc'],
  [/(?<=^|\W)masse(?=$|\W)/g, 'mass'],
  [/(?<=^|\W)[ée]paisseur(?=$|\W)/g, 'thickness'],
];

/** English words with the same meaning in a header. */
const english: readonly (readonly [RegExp, string])[] = [
  [/\bserial (?:nr|num|#)\b/g, 'serial number'],
  [/\bweight\b/g, 'mass'],
  [/\bself[ -]discharge(?: rate)?\b/g, 'self discharge'],
  [/\bopen circuit(?: voltage)?\b/g, 'ocv'],
  [/\bimpedence\b/g, 'impedance'],
];

/**
 * A header's name, its unit taken off, in lower case with one blank between words, in the words used here:
 * `Kapazität` → `capacity`, `S/N` → `s n`, `ACIR_1kHz` → `acir 1khz`.
 */
export function plainName(text: string): string {
  let name = text
    .normalize('NFC')
    .replace(/kHz/gi, 'khz')
    .replace(/([a-zäöüéè])([A-ZÄÖÜÉÈ])/g, '$1 $2')
    .toLowerCase()
    .replace(/[\s_\-./:#@]+/g, ' ')
    .replace(/(\d) (khz|hz)\b/g, '$1$2')
    .trim();
  for (const [pattern, word] of german) name = name.replace(pattern, word);
  for (const [pattern, word] of french) name = name.replace(pattern, word);
  for (const [pattern, word] of english) name = name.replace(pattern, word);
  return name.replace(/ +/g, ' ').trim();
}
