/** What is fitted from a measured charge. */
const fitted = {
  capacity: 'Kapazität',
  'start SOC': 'Ladezustand zu Beginn',
  R0: 'R0',
  'branch resistance': 'Widerstand der RC-Glieder',
  'slow branch': 'langsames RC-Glied',
  'time constant of the slow branch': 'Zeitkonstante des langsamen RC-Glieds',
  'voltage offset': 'Offset der Spannung',
  'current offset': 'Offset des Stroms',
  'moment of a current step': 'Zeitpunkt eines Stromsprungs',
  'open-circuit curve': 'Leerlaufspannungskurve',
  'heat capacity': 'Wärmekapazität',
  'heat transfer': 'Wärmeübergang',
};

/** A fitted value alone, of a cell, in a log, and changed by so much. */
function namesOfFitted(): [string, string][] {
  return Object.entries(fitted).flatMap(([english, german]) =>
    [
      ['', ''],
      [' of {{1}}', ' von {{1}}'],
      [' in log {{2}}', ' im Log {{2}}'],
      [' of {{1}} in log {{2}}', ' von {{1}} im Log {{2}}'],
    ].flatMap(([of, von]): [string, string][] => [
      [english + of, german + von],
      [`${english}${of} {{3}} %`, `${german}${von} {{3}} %`],
      [`${english}${of} {{3}} mV`, `${german}${von} {{3}} mV`],
      [`${english}${of} {{3}} percentage points`, `${german}${von} {{3}} Prozentpunkte`],
    ]),
  );
}

/** What the service says of records, of measured charges beside their study, and of what a study cannot compute. */
export const records: Readonly<Record<string, string>> = {
  ...Object.fromEntries(namesOfFitted()),
  // The verdict on a measured charge.
  'Charged in the computed time ({{1}}).': 'In der berechneten Zeit geladen ({{1}}).',
  'Charged {{1}} % {{2}} than computed ({{3}}).': '{{1}} % {{2}} als berechnet geladen ({{3}}).',
  slower: 'langsamer',
  faster: 'schneller',
  '{{1}} min against {{2}} min': '{{1}} min gegen {{2}} min',
  '{{1}}: {{2}} mV {{3}} the model from {{4}} to {{5}}.':
    '{{1}}: {{2}} mV {{3}} dem Modell von {{4}} bis {{5}}.',
  above: 'über',
  below: 'unter',
  'All cell voltages agree with the model within {{1}} mV rms.':
    'Alle Zellspannungen stimmen mit dem Modell auf {{1}} mV (Effektivwert) überein.',
  'One change explains {{1}} % of the difference: {{2}}.':
    'Eine Änderung erklärt {{1}} % des Unterschieds: {{2}}.',
  'The fitted model does not explain the {{1}}: no cause is named, and its values have no intervals.':
    'Das angepasste Modell erklärt die Aufzeichnung nicht ({{1}}); keine Ursache wird genannt, und seine Werte haben keine Intervalle.',
  log: 'Log',
  logs: 'Logs',
  'The {{1}} comes out at {{2}} mV, more than its stated uncertainty allows: check the channel. The other values of {{3}} have no interval, because a gain error would move them.':
    '{{1}}: Es ergeben sich {{2}} mV, mehr als die angegebene Unsicherheit zulässt; prüfen Sie den Kanal. Die anderen Werte von {{3}} haben kein Intervall, weil ein Verstärkungsfehler sie verschieben würde.',
  'The {{1}} not determine {{2}}: {{3}} as in the study, and the other values hold only with that.':
    '{{1}} nicht zu bestimmen: {{2}}. {{3}} wie in der Studie, und die anderen Werte gelten nur damit.',
  'log does': 'Aus dem Log',
  'logs do': 'Aus den Logs',
  'it is held': 'Der Wert bleibt',
  'they are held': 'Die Werte bleiben',
  'The {{1}} {{2}} from {{3}}.': '{{1}}: {{2}} und {{3}}.',
  "R0 and branches of {{1}} together, {{2}} s after a step of the current: {{3}} % of the study's ({{4}} to {{5}}, 95 %).":
    'R0 und RC-Glieder von {{1}} zusammen, {{2}} s nach einem Stromsprung: {{3}} % des Werts der Studie ({{4}} bis {{5}}, 95 %).',
  'The measured voltages show a larger error of the open-circuit curve of {{1}} than the {{2}} mV stated: the intervals of {{1}} are wider by that.':
    'Die gemessenen Spannungen zeigen einen größeren Fehler der Leerlaufspannungskurve von {{1}} als die angegebenen {{2}} mV: Die Intervalle von {{1}} sind entsprechend weiter.',
  'log hardly tells': 'Im Log kaum zu unterscheiden',
  'logs hardly tell': 'In den Logs kaum zu unterscheiden',
  'the charge was interrupted for {{1}} min in all: times are those under current, as in the computed charge, which has no pauses':
    'Der Ladevorgang war insgesamt {{1}} min unterbrochen: Die Zeiten sind die unter Strom, wie im berechneten Ladevorgang, der keine Pausen hat.',
  'the log begins under current: start SOC is that of the study, and earlier polarisation is not known':
    'Das Log beginnt unter Strom: Der Ladezustand zu Beginn ist der der Studie, und die frühere Polarisation ist nicht bekannt.',
  '{{1}} starts at {{2}} V, below its open-circuit curve: start SOC between {{3}} % (first slope of the curve) and {{4}} % (its first point), because a real curve falls more steeply; the middle is taken, and the computed time is uncertain by as much charge':
    '{{1}} beginnt bei {{2}} V, unter ihrer Leerlaufspannungskurve: Ladezustand zu Beginn zwischen {{3}} % (erste Steigung der Kurve) und {{4}} % (ihr erster Punkt), weil eine wirkliche Kurve steiler fällt; genommen wird die Mitte, und die berechnete Zeit ist um so viel Ladung unsicher.',
  'the logged current {{1}} A is above the datasheet rating {{2}} A':
    'Der aufgezeichnete Strom von {{1}} A liegt über dem im Datenblatt zugelassenen von {{2}} A.',
  'only the stack voltage was held in this charge: no limit kept a single cell from overcharge':
    'In diesem Ladevorgang wurde nur die Stackspannung gehalten: Keine Grenze bewahrte eine einzelne Zelle vor Überladung.',
  'the voltage held, {{1}} V, is above the datasheet limit of {{2}}':
    'Die gehaltene Spannung von {{1}} V liegt über der Grenze des Datenblatts von {{2}}.',
  '{{1}}: the logs do not determine {{2}}; the fitted study keeps what the study states.':
    '{{1}}: Die Logs bestimmen {{2}} nicht; die angepasste Studie behält, was die Studie angibt.',
  // What the parameters of a study come from.
  'common practice, no source; the datasheet of the cell decides':
    'übliche Praxis ohne Quelle; das Datenblatt der Zelle entscheidet',
  'import: {{1}}': 'Import: {{1}}',
  'resistances from charge pulses': 'Widerstände aus Ladepulsen',
  'resistances from charge pulses of up to {{1}} A': 'Widerstände aus Ladepulsen bis {{1}} A',
  'resistances from discharge pulses': 'Widerstände aus Entladepulsen',
  'resistances from discharge pulses of up to {{1}} A': 'Widerstände aus Entladepulsen bis {{1}} A',
  'which show more of the polarisation than the charge pulses':
    'die mehr von der Polarisation zeigen als die Ladepulse',
  'open-circuit voltage from the fits of the pulses': 'Leerlaufspannung aus den Anpassungen der Pulse',
  'open-circuit voltage from {{1}}': 'Leerlaufspannung aus: {{1}}',
  rests: 'Ruhezeiten',
  'traveller: open circuit': 'Begleitblatt: Leerlauf',
  'traveller: seen by the charger': 'Begleitblatt: vom Lader gesehen',
  'slow polarisation from the rests after long loads':
    'langsame Polarisation aus den Ruhezeiten nach langer Belastung',
  'fewer branches were fitted at SOC {{1}}; the missing ones have resistance 0 there':
    'bei den Ladezuständen {{1}} wurden weniger RC-Glieder angepasst; die fehlenden haben dort den Widerstand 0',
  'capacity of cycle {{1}} with resistances of cycle {{2}}: the {{3}} of the aged cell {{4}}':
    'Kapazität aus Zyklus {{1}} mit Widerständen aus Zyklus {{2}}: Bei der gealterten Zelle gilt: {{3}} {{4}}',
  resistances: 'Widerstände',
  'are higher': 'höher',
  'is smaller': 'kleiner',
  'no RC branch was fitted, so polarisation is missing: the cell meets its voltage limit later here, and charges faster, than it will':
    'es wurde kein RC-Glied angepasst, darum fehlt die Polarisation: Die Zelle erreicht hier ihre Spannungsgrenze später und lädt schneller als in Wirklichkeit',
  'polarisation slower than the pulses{{1}} is not in the parameters; in a charge of an hour or more it can add half as much again to the voltage drop, so expect the voltage limit sooner and a longer end; rests of 15 min and more after steady loads in the pulse test show it':
    'Polarisation, die langsamer ist als die Pulse{{1}}, ist nicht in den Parametern; in einem Ladevorgang von einer Stunde oder mehr kann sie den Spannungsabfall um die Hälfte erhöhen: Erwarten Sie die Spannungsgrenze früher und ein längeres Ende; Ruhezeiten von 15 min und mehr nach gleichbleibender Belastung im Pulstest zeigen sie',
  'the open-circuit voltage was measured up to {{1}} SOC; above, it goes on with its last slope to no more than the charge voltage limit, and decides when that is met':
    'die Leerlaufspannung wurde bis {{1}} Ladezustand gemessen; darüber geht sie mit ihrer letzten Steigung weiter, höchstens bis zur Ladeschlussspannung, und entscheidet, wann diese erreicht wird',
  'the open-circuit voltage was measured down to {{1}} SOC; below, it goes on with its first slope, while a real cell falls more steeply':
    'die Leerlaufspannung wurde hinab bis {{1}} Ladezustand gemessen; darunter geht sie mit ihrer ersten Steigung weiter, während eine wirkliche Zelle steiler fällt',
  // Records of pulses.
  'A single reading of {{1}} V that its neighbours and the current do not explain was left out.':
    'Ein einzelner Messwert von {{1}} V, den Nachbarn und Strom nicht erklären, wurde weggelassen.',
  'A single reading of {{1}} A that the voltage does not answer was left out.':
    'Ein einzelner Messwert von {{1}} A, auf den die Spannung nicht antwortet, wurde weggelassen.',
  'The {{1}} is renewed only every {{2}} s: {{3}} rows repeat an earlier reading and were left out.':
    'Erneuert wird die Größe „{{1}}“ nur alle {{2}} s: {{3}} Zeilen wiederholen einen früheren Messwert und wurden weggelassen.',
  voltage: 'Spannung',
  current: 'Strom',
  'In {{1}} rows at edges the voltage has answered a change of current that the current column shows only later; they were left out.':
    'In {{1}} Zeilen an Flanken hat die Spannung schon auf eine Stromänderung geantwortet, die die Stromspalte erst später zeigt; sie wurden weggelassen.',
  '{{1}} minutes without rows: what happened there is not known.':
    '{{1}} Minuten ohne Zeilen: Was dort geschah, ist nicht bekannt.',
  'The time starts again here.': 'Die Zeit beginnt hier von vorn.',
  'The current starts, ends or turns here, while the step column stays the same.':
    'Der Strom beginnt, endet oder wechselt hier, während die Schrittspalte gleich bleibt.',
  '{{1}} short steps of current of up to {{2}} mA are not pulses: the voltage does not follow them by more than its noise of {{3}} mV.':
    '{{1}} kurze Stromschritte bis {{2}} mA sind keine Pulse: Die Spannung folgt ihnen nicht weiter als um ihr Rauschen von {{3}} mV.',
  'No pulse was found: no short step of current out of a rest or another steady current.':
    'Es wurde kein Puls gefunden: kein kurzer Stromschritt aus einer Ruhezeit oder einem anderen gleichbleibenden Strom.',
  '{{1}} of {{2}} pulses were ended or cut back by a voltage limit.':
    '{{1}} von {{2}} Pulsen wurden durch eine Spannungsgrenze beendet oder verringert.',
  "The voltage follows every edge of the current {{1}} s (± {{2}} s) late, as through a filter: readings within {{3}} s of an edge are not the cell's alone, and resistances at so short a time read low. The circuit fits see through it.":
    'Die Spannung folgt jeder Stromflanke {{1}} s (± {{2}} s) verspätet, wie durch ein Filter: Messwerte innerhalb von {{3}} s nach einer Flanke sind nicht die der Zelle allein, und Widerstände nach so kurzer Zeit fallen zu niedrig aus. Die Anpassungen der Ersatzschaltbilder berücksichtigen das.',
  'Current and voltage take {{1}} s to settle together after an edge; the circuit fits leave those readings out, so nothing faster can be separated from R0.':
    'Strom und Spannung brauchen nach einer Flanke {{1}} s, bis sie zusammenpassen; die Anpassungen lassen diese Messwerte weg, darum lässt sich nichts Schnelleres von R0 trennen.',
  '{{1}} of {{2}} circuits miss the voltage by a twentieth of the pulse or more, up to {{3}} mV ({{4}} %): their parameters describe the fit, not the cell. R(t) does not depend on them.':
    '{{1}} von {{2}} Ersatzschaltbildern verfehlen die Spannung um ein Zwanzigstel des Pulses oder mehr, bis {{3}} mV ({{4}} %): Ihre Parameter beschreiben die Anpassung, nicht die Zelle. R(t) hängt nicht von ihnen ab.',
  'Before {{1}} of {{2}} pulses there are too few rows to see what earlier currents still do: the resistances of these pulses hold only if it is nothing.':
    'Vor {{1}} von {{2}} Pulsen zeigen zu wenige Zeilen, was frühere Ströme noch bewirken: Die Widerstände dieser Pulse gelten nur, wenn es nichts ist.',
  "In {{1}} of {{2}} pulses the voltage moves against the current: the current's sign is turned round. Take the file again with the sign stated; resistances of this evaluation mean nothing.":
    'In {{1}} von {{2}} Pulsen bewegt sich die Spannung gegen den Strom: Das Vorzeichen des Stroms ist umgekehrt. Importieren Sie die Datei noch einmal mit dem richtigen Vorzeichen; die Widerstände dieser Auswertung sagen nichts.',
  'the record begins at rest at the upper voltage limit':
    'die Aufzeichnung beginnt in Ruhe an der oberen Spannungsgrenze',
  'a charge of the record is held at the upper limit until its current is small':
    'ein Ladevorgang der Aufzeichnung wird an der oberen Grenze gehalten, bis sein Strom klein ist',
  'a discharge of the record ends at the lower voltage limit':
    'eine Entladung der Aufzeichnung endet an der unteren Spannungsgrenze',
  'the rated capacity': 'der Nennkapazität',
  'the cell’s own capacity': 'der eigenen Kapazität der Zelle',
  'No start SOC was stated; {{1}}, so it began at {{2}} % of {{3}}.':
    'Der Ladezustand zu Beginn war nicht angegeben; {{1}}, also begann sie bei {{2}} % {{3}}.',
  'The counted SOC ends at {{1}} %: start SOC, {{2}} or the current channel does not fit.':
    'Der gezählte Ladezustand endet bei {{1}} %: Der Ladezustand zu Beginn, der Wert {{2}} oder der Stromkanal passt nicht.',
  'The current reads {{1}} mA in rest.': 'In Ruhe zeigt der Strom {{1}} mA an.',
  'The voltage jumps by {{1}} mOhm at the edges, out of proportion to {{2}} Ah: leads or contacts may be in the reading (two-wire sensing).':
    'Die Spannung springt an den Flanken um {{1}} mΩ, zu viel für {{2}} Ah: Leitungen oder Kontakte können im Messwert enthalten sein (Zweileitermessung).',
  '{{1}} Ah out but {{2}} Ah in: an offset of the current channel of {{3}} mA would explain it.':
    '{{1}} Ah heraus, aber {{2}} Ah hinein: Ein Offset des Stromkanals von {{3}} mA würde das erklären.',
  // What a study cannot compute.
  'branches[{{1}}].rOhm[{{2}}] is {{3}}; it must not be negative':
    'branches[{{1}}].rOhm[{{2}}] ist {{3}}; es darf nicht negativ sein',
  'arrhenius is for tables at one temperature; these have several, which say it themselves':
    'arrhenius gilt für Tabellen bei einer Temperatur; diese haben mehrere und sagen es selbst',
  'thermal.heatTransferWPerK is {{1}}; it must be 0 or more':
    'thermal.heatTransferWPerK ist {{1}}; es muss 0 oder mehr sein',
  '{{1}} is {{2}}; it must be above 0': '{{1}} ist {{2}}; es muss über 0 liegen',
  '{{1}} has {{2}} values; at least {{3}} are needed': '{{1}} hat {{2}} Werte; nötig sind mindestens {{3}}',
  '{{1}}[{{2}}] is {{3}}; it must be a finite number':
    '{{1}}[{{2}}] ist {{3}}; es muss eine endliche Zahl sein',
  '{{1}}[{{2}}] is {{3}}, not above {{4}} before it; the grid must ascend':
    '{{1}}[{{2}}] ist {{3}}, nicht über {{4}} davor; die Stützstellen müssen ansteigen',
  '{{1}} has {{2}} values; the grid has {{3}} points': '{{1}} hat {{2}} Werte; das Gitter hat {{3}} Punkte',
  '{{1}}[{{2}}] is {{3}}; it must be {{4}}': '{{1}}[{{2}}] ist {{3}}; gefordert ist: {{4}}',
  'cells is empty; at least one cell is needed': 'cells ist leer; nötig ist mindestens eine Zelle',
  'stages is empty; at least one is needed': 'stages ist leer; nötig ist mindestens eine Stufe',
  'stages[{{1}}].currentA is {{2}}; it must be above 0':
    'stages[{{1}}].currentA ist {{2}}; es muss über 0 liegen',
  'endCurrentA is {{1}}; it must be above 0': 'endCurrentA ist {{1}}; es muss über 0 liegen',
  'precharge.currentA is {{1}}; it must be above 0': 'precharge.currentA ist {{1}}; es muss über 0 liegen',
  'taper is stepped, which needs source.currentStepA':
    'taper nimmt in Stufen ab; das braucht source.currentStepA',
  'seriesStepS is {{1}}; that is too many rows for {{2}} s':
    'seriesStepS ist {{1}}; das sind zu viele Zeilen für {{2}} s',
  'stack resistance is {{1}} and {{2}} Ω; it must be 0 or more':
    'die Widerstände im Stack sind {{1}} und {{2}} Ω; sie müssen 0 oder mehr sein',
  'cells[{{1}}].startSoc is {{2}}; it must lie from 0 to 1':
    'cells[{{1}}].startSoc ist {{2}}; es muss zwischen 0 und 1 liegen',
  'cells[{{1}}].datasheet.maxChargeCurrentA is {{2}}; it must be above 0':
    'cells[{{1}}].datasheet.maxChargeCurrentA ist {{2}}; es muss über 0 liegen',
  "the voltage limit of cells[{{1}}] is {{2}} V, above the datasheet's {{3}} V":
    'die Spannungsgrenze von cells[{{1}}] ist {{2}} V, über den {{3}} V des Datenblatts',
  'bypass[{{1}}] has the value {{2}}; it must be above 0':
    'bypass[{{1}}] hat den Wert {{2}}; er muss über 0 liegen',
  'bypass[{{1}}].stopVoltageV is {{2}}; it must be below startVoltageV {{3}}':
    'bypass[{{1}}].stopVoltageV ist {{2}}; es muss unter startVoltageV {{3}} liegen',
  '{{1}} is {{2}}; it must lie in (0, 1]': '{{1}} ist {{2}}; es muss über 0 und höchstens 1 sein',
  '{{1}} has {{2}} currents and {{3}} efficiencies; two or more of each are needed':
    '{{1}} hat {{2}} Ströme und {{3}} Wirkungsgrade; nötig sind je zwei oder mehr',
  '{{1}}.outputCurrentA[{{2}}] is {{3}}, not above {{4}} before it':
    '{{1}}.outputCurrentA[{{2}}] ist {{3}}, nicht über {{4}} davor',
  '{{1}}.efficiency[{{2}}] is {{3}}; it must lie in (0, 1]':
    '{{1}}.efficiency[{{2}}] ist {{3}}; es muss über 0 und höchstens 1 sein',
  'converter.ratioStage.paths is 0; at least one path is needed':
    'converter.ratioStage.paths ist 0; nötig ist mindestens ein Pfad',
  'converter.ratioStage.efficiency is given beside output resistance or fixed loss; it holds all losses: leave one of them out':
    'converter.ratioStage.efficiency steht neben Ausgangswiderstand oder festem Verlust; es enthält alle Verluste: Lassen Sie eines davon weg',
  'source.maxVoltageV is {{1}}; it must be above source.minVoltageV {{2}}':
    'source.maxVoltageV ist {{1}}; es muss über source.minVoltageV {{2}} liegen',
  'source.maxCurrentA is {{1}}; it must be above 0': 'source.maxCurrentA ist {{1}}; es muss über 0 liegen',
  'cable.resistanceOhm is {{1}}; it must be 0 or more':
    'cable.resistanceOhm ist {{1}}; es muss 0 oder mehr sein',
  'converter.regulator.inputVoltageV is {{1}}; the source reaches {{2}}':
    'converter.regulator.inputVoltageV ist {{1}}; die Quelle erreicht {{2}}',
  'converter.regulator.inputVoltageV is {{1}}; the source goes no lower than {{2}}':
    'converter.regulator.inputVoltageV ist {{1}}; die Quelle geht nicht tiefer als {{2}}',
  'the voltage limit of cells[{{1}}] is {{2}} V, not above its open-circuit voltage {{3}} V at the start SOC {{4}}':
    'die Spannungsgrenze von cells[{{1}}] ist {{2}} V, nicht über ihrer Leerlaufspannung von {{3}} V beim Ladezustand {{4}} zu Beginn',
  'bypass[{{1}}] would switch itself off: its {{2}} A lower the voltage by {{3}} V at once, and it stops {{4}} V below its start':
    'bypass[{{1}}] würde sich selbst abschalten: Seine {{2}} A senken die Spannung sofort um {{3}} V, und er endet {{4}} V unter seinem Beginn',
  'converter.ratioStage.paths.{{1}}.outputResistanceOhm is 0 beside paths with a resistance; this path would take the whole current: give every path its resistance, or none':
    'converter.ratioStage.paths.{{1}}.outputResistanceOhm ist 0 neben Pfaden mit einem Widerstand; dieser Pfad nähme den ganzen Strom: Geben Sie jedem Pfad seinen Widerstand, oder keinem',
  'bus voltage too low: source.maxVoltageV {{1}} gives at most {{2}} V, and the stack needs more than {{3}} V at the source (ratio {{4}})':
    'die Busspannung reicht nicht: source.maxVoltageV {{1}} ergibt höchstens {{2}} V, und der Stack braucht mehr als {{3}} V an der Quelle (Teilerverhältnis {{4}})',
  'converter.regulator.inputVoltageV is {{1}}; the source is set in steps of {{2}} V, the nearest is {{3}}':
    'converter.regulator.inputVoltageV ist {{1}}; die Quelle wird in Schritten von {{2}} V gestellt, der nächste ist {{3}}',
  'temperature zone from {{1}} to {{2}} is empty; toC must be above fromC':
    'die Temperaturzone von {{1}} bis {{2}} ist leer; toC muss über fromC liegen',
  'temperature zone from {{1}} overlaps the one before it, which ends at {{2}}':
    'die Temperaturzone ab {{1}} überschneidet die davor, die bei {{2}} endet',
};
