/** What the service says when it refuses a request or a job fails; places are numbered as they come in English. */
export const refusals: Readonly<Record<string, string>> = {
  'The host {{1}} is not served here; use 127.0.0.1 or localhost.':
    'Der Name {{1}} wird hier nicht bedient; verwenden Sie 127.0.0.1 oder localhost.',
  'Requests from {{1}} are not served.': 'Anfragen von {{1}} werden nicht bedient.',
  'There is no {{1}}.': 'Das gibt es nicht: {{1}}.',
  'A body of type {{1}} cannot be read here; send application/json.':
    'Ein Inhalt der Art {{1}} wird hier nicht gelesen; senden Sie application/json.',
  'There is no {{1}} {{2}}.': 'Das gibt es nicht: {{1}} {{2}}.',
  'Too many files and connections are open; nothing was stored. Close some, or let the service open more (ulimit -n), and try again.':
    'Zu viele Dateien und Verbindungen sind offen; nichts wurde gespeichert. Schließen Sie einige, oder lassen Sie den Dienst mehr öffnen (ulimit -n), und versuchen Sie es noch einmal.',
  'The disk is full; nothing was stored. Make room and try again.':
    'Der Datenträger ist voll; nichts wurde gespeichert. Schaffen Sie Platz und versuchen Sie es noch einmal.',
  'The database may not be written; nothing was stored. Check its rights.':
    'In die Datenbank darf nicht geschrieben werden; nichts wurde gespeichert. Prüfen Sie ihre Rechte.',
  'The database file cannot be opened; nothing was stored. Check its folder and rights.':
    'Die Datenbankdatei lässt sich nicht öffnen; nichts wurde gespeichert. Prüfen Sie ihren Ordner und ihre Rechte.',
  'The database file is damaged or no database; nothing was stored. Put a backup in its place: gemel restore FILE.':
    'Die Datenbankdatei ist beschädigt oder keine Datenbank; nichts wurde gespeichert. Setzen Sie eine Sicherung an ihre Stelle: gemel restore DATEI.',
  'The database is busy with another writer; nothing was stored. Try again.':
    'In die Datenbank wird gerade anderes geschrieben; nichts wurde gespeichert. Versuchen Sie es noch einmal.',
  'The connection to the database server cannot be protected as asked for: {{1}}. Check sslmode and sslrootcert of GEMEL_DATABASE, or PGSSLMODE and PGSSLROOTCERT.':
    'Die Verbindung zum Datenbankserver lässt sich nicht wie verlangt schützen: {{1}}. Prüfen Sie sslmode und sslrootcert in GEMEL_DATABASE, oder PGSSLMODE und PGSSLROOTCERT.',
  'The database server cannot be reached or refuses the connection: {{1}}. A change that was being stored may or may not be there: look before you repeat it. Check the server and GEMEL_DATABASE.':
    'Der Datenbankserver ist nicht erreichbar oder lehnt die Verbindung ab: {{1}}. Eine Änderung, die gerade gespeichert wurde, kann da sein oder fehlen: Sehen Sie nach, bevor Sie sie wiederholen. Prüfen Sie den Server und GEMEL_DATABASE.',
  'More than {{1}} requests within {{2}} s; wait a moment.':
    'Mehr als {{1}} Anfragen in {{2}} s; warten Sie einen Augenblick.',
  'A text contains the character U+0000, which cannot be stored.':
    'Ein Text enthält das Zeichen U+0000, das nicht gespeichert werden kann.',
  'The body of the request is larger than this service takes.':
    'Der Inhalt der Anfrage ist größer, als dieser Dienst annimmt.',
  'The body of the request is not valid JSON: {{1}}.': 'Der Inhalt der Anfrage ist kein gültiges JSON.',
  'The body of the request is not valid UTF-8.': 'Der Inhalt der Anfrage ist kein gültiges UTF-8.',
  'The body of the request is not compressed as it says.':
    'Der Inhalt der Anfrage ist nicht so komprimiert, wie sie angibt.',
  'The encoding of the request is not one that this service reads.':
    'Die Kodierung der Anfrage liest dieser Dienst nicht.',
  'The address of the request is not valid.': 'Die Adresse der Anfrage ist nicht gültig.',
  'Something went wrong in the service; nothing was changed. The log tells more.':
    'Im Dienst ist ein Fehler aufgetreten; nichts wurde geändert. Das Protokoll sagt mehr.',
  'The job was cancelled.': 'Die Arbeit wurde abgebrochen.',
  '{{1}} long computations wait already; ask again when some of them have ended.':
    '{{1}} lange Rechnungen warten schon; fragen Sie noch einmal, wenn einige davon zu Ende sind.',
  'Job {{1}} has ended already: {{2}}.': 'Die Arbeit {{1}} ist schon zu Ende: {{2}}.',
  'Job {{1}} is {{2}}; only a failed or cancelled job can be tried again.':
    'Die Arbeit {{1}} ist {{2}}; nur eine fehlgeschlagene oder abgebrochene kann noch einmal versucht werden.',
  'The name pattern cannot be used: {{1}}.': 'Das Namensmuster ist nicht verwendbar: {{1}}.',
  'A column map belongs to one header.': 'Eine Spaltenzuordnung gehört zu einer Kopfzeile.',
  'The options of the import cannot be used: {{1}}':
    'Die Einstellungen des Imports sind nicht verwendbar: {{1}}',
  '{{1}} is not a JSON object.': '{{1}} ist kein JSON-Objekt.',
  'A picture is sent as the body of the request.': 'Ein Bild wird als Inhalt der Anfrage gesendet.',
  'The name of the picture cannot be read.': 'Der Name des Bildes ist nicht lesbar.',
  'The file cannot be unpacked.': 'Die Datei lässt sich nicht entpacken.',
  'The form has no file.': 'Das Formular enthält keine Datei.',
  'The form cannot be read: {{1}}.': 'Das Formular ist nicht lesbar: {{1}}.',
  'An upload has at most {{1}} MiB.': 'Auf einmal werden höchstens {{1}} MiB angenommen.',
  'The cursor is not one that this service gave out.':
    'Diese Stelle der Liste stammt nicht von diesem Dienst.',
  'The limits do not fit together: {{1}}': 'Die Grenzen passen nicht zueinander: {{1}}',
  'Log and study do not belong together.': 'Log und Studie gehören nicht zusammen.',
  'The log and the study do not have the same cells.': 'Log und Studie haben nicht dieselben Zellen.',
  'The branches cannot be fitted.': 'Die RC-Glieder lassen sich nicht anpassen.',
  'The log cannot be used: {{1}}{{2}}.': 'Das Log ist nicht verwendbar: {{1}}{{2}}.',
  'The charge study cannot be computed as it is described.':
    'Die Ladestudie lässt sich so, wie sie beschrieben ist, nicht berechnen.',
  'The charge study was cancelled.': 'Die Ladestudie wurde abgebrochen.',
  'The pairing criteria cannot be used: {{1}}': 'Die Kriterien der Paarung sind nicht verwendbar: {{1}}',
  'The cells cannot be paired: {{1}}: {{2}}.': 'Die Zellen lassen sich nicht paaren: {{1}}: {{2}}.',
  'The {{1}} of feature "{{2}}" comes out as zero.': 'Für „{{2}}“ ergibt sich null ({{1}}).',
  'Nothing is measured to pair by: no {{1}}.':
    'Es ist nichts gemessen, wonach sich paaren ließe: {{1}} fehlt.',
  'Cell {{1}} has {{2}} values for {{3}} terms.': 'Die Zelle {{1}} hat {{2}} Werte für {{3}} Glieder.',
  'No cell of the lot {{1}} has a {{2}} with an age in {{3}}.':
    'Im Los {{1}} hat keine Zelle {{2}} mit einem Alter in {{3}}.',
  'A charge study is of a stack or of cells.': 'Eine Ladestudie gilt einem Stack oder Zellen.',
  'A cell cannot be in series with itself.': 'Eine Zelle kann nicht mit sich selbst in Reihe sein.',
  'The charge study cannot be computed: {{1}}.': 'Die Ladestudie lässt sich nicht berechnen: {{1}}.',
  'No heat balance from test {{1}}: {{2}}.': 'Keine Wärmebilanz aus Test {{1}}: {{2}}',
  'The heat cannot be computed: {{1}}.': 'Die Wärme lässt sich nicht berechnen: {{1}}.',
  'The record holds no charge.': 'Die Aufzeichnung enthält keinen Ladevorgang.',
  'The description has other cells than the subject.':
    'Die Beschreibung hat andere Zellen als der Gegenstand der Studie.',
  'Test {{1}} cannot be evaluated: {{2}}': 'Test {{1}} lässt sich nicht auswerten: {{2}}',
  'Test {{1}} has no record to evaluate.': 'Test {{1}} hat keine Aufzeichnung, die auszuwerten wäre.',
  'Test {{1}} still takes samples; close it before it is evaluated.':
    'Test {{1}} nimmt noch Messwerte auf; schließen Sie ihn, bevor er ausgewertet wird.',
  'Test {{1}} has not been evaluated.': 'Test {{1}} ist nicht ausgewertet.',
  'Fit {{1}} is not the evaluation of a test but of kind {{2}}.':
    'Die Anpassung {{1}} ist keine Auswertung eines Tests, sondern von der Art {{2}}.',
  'Test {{1}} is not a pulse test.': 'Test {{1}} ist kein Pulstest.',
  'Pulse {{1}} of test {{2}} has no fitted circuit.':
    'Puls {{1}} von Test {{2}} hat kein angepasstes Ersatzschaltbild.',
  'The window of the state of charge is empty.': 'Das Fenster des Ladezustands ist leer.',
  'The stretch ends before it begins.': 'Der Abschnitt endet, bevor er beginnt.',
  'Test {{1}} cannot be evaluated together with other runs.':
    'Test {{1}} lässt sich nicht zusammen mit anderen Läufen auswerten.',
  'A {{1}} cannot be written as {{2}}.': '{{1}}: Das lässt sich nicht als {{2}} schreiben.',
  'This cannot be written as {{1}}: {{2}}.': 'Das lässt sich nicht als {{1}} schreiben: {{2}}.',
  'The charge study {{1}} has no result yet.': 'Die Ladestudie {{1}} hat noch kein Ergebnis.',
  'The records hold {{1}} samples, too many for one file.':
    'Die Aufzeichnungen enthalten {{1}} Messwerte, zu viele für eine Datei.',
  'There is no column map named {{1}}.': 'Es gibt keine Spaltenzuordnung mit dem Namen {{1}}.',
  'There is no such stack.': 'Diesen Stack gibt es nicht.',
  'An import needs the lot its cells belong to.': 'Ein Import braucht das Los, zu dem seine Zellen gehören.',
  'The undoing of this import cannot be taken back: {{1}}.':
    'Dieser rückgängig gemachte Import lässt sich nicht wiederherstellen: {{1}}.',
  'Import {{1}} is {{2}}; only a taken file can be undone.':
    'Der Import {{1}} ist {{2}}; nur eine importierte Datei kann rückgängig gemacht werden.',
  '{{1}} is not the key of a column.': '{{1}} ist nicht der Schlüssel einer Spalte.',
  'A line needs two different quantities.': 'Eine Gerade braucht zwei verschiedene Größen.',
  'No column names the cells.': 'Keine Spalte benennt die Zellen.',
  'The table lacks what the criteria ask for.': 'In der Tabelle fehlt, was die Kriterien verlangen.',
  'Some cells are in the table more than once; one row per cell is needed.':
    'Einige Zellen stehen mehr als einmal in der Tabelle; es braucht eine Zeile je Zelle.',
  'Name lots or cells to be paired.': 'Nennen Sie Lose oder Zellen, die gepaart werden sollen.',
  'These cells cannot be paired.': 'Diese Zellen lassen sich nicht paaren.',
  'The criteria ask for what is not there: {{1}}.': 'Die Kriterien verlangen, was es nicht gibt: {{1}}.',
  'The column {{1}} is not a {{2}}.': 'Die Spalte {{1}} ist keine Größe der Art {{2}}.',
  'A stack was made of this pair; undo that first.':
    'Aus diesem Paar wurde ein Stack; machen Sie das zuerst rückgängig.',
  'The cell {{1}} is not in this pair.': 'Die Zelle {{1}} ist nicht in diesem Paar.',
  'A pair cannot exchange partners with itself.': 'Ein Paar kann nicht mit sich selbst Partner tauschen.',
  'A lock of this run forbids {{1}}.': 'Eine Vorgabe dieses Laufs verbietet {{1}}.',
  '{{1}} would be outside the limit of {{2}}.': '{{1}} läge außerhalb der Grenze für {{2}}.',
  'The file is not a picture of type {{1}}.': 'Die Datei ist kein Bild der Art {{1}}.',
  'The cell {{1}} is in the stack {{2}}; undo or retire that first.':
    'Die Zelle {{1}} ist im Stack {{2}}; machen Sie ihn zuerst rückgängig oder mustern Sie ihn aus.',
  'A cell is set aside or retired with a reason.':
    'Eine Zelle wird mit einem Grund beiseitegelegt oder ausgemustert.',
  'A cell type named {{1}} is there already.': 'Einen Zelltyp mit dem Namen {{1}} gibt es schon.',
  'A lot named {{1}} is there already.': 'Ein Los mit dem Namen {{1}} gibt es schon.',
  'The lot {{1}} is not empty; only an empty lot can be removed.':
    'Das Los {{1}} ist nicht leer; nur ein leeres kann entfernt werden.',
  'A file is being imported into the lot {{1}}.': 'In das Los {{1}} wird gerade eine Datei importiert.',
  'Measurement {{1}} is superseded; it counts no more.':
    'Der Messwert {{1}} ist ersetzt und zählt nicht mehr.',
  'The defaults do not fit together: {{1}}': 'Die Vorgaben passen nicht zueinander: {{1}}',
  'A chemistry named {{1}} is there already.': 'Eine Zellchemie mit dem Namen {{1}} gibt es schon.',
  'The cell {{1}} carries a warning sign meanwhile: {{2}}.':
    'Die Zelle {{1}} trägt inzwischen ein Warnzeichen: {{2}}.',
  'Someone changed this meanwhile: version {{1}} was read, {{2}} is stored.':
    'Jemand hat das inzwischen geändert: Gelesen wurde die Version {{1}}, gespeichert ist {{2}}.',
  'A log is named twice.': 'Ein Log ist zweimal genannt.',
  'The import of a log was taken back.': 'Der Import eines Logs wurde rückgängig gemacht.',
  'Logs are evaluated together where they are of one stack.':
    'Logs werden zusammen ausgewertet, wenn sie von einem Stack sind.',
  'One study is compared.': 'Verglichen wird mit einer Studie.',
  'A study that is given has its own parts.': 'Eine mitgegebene Studie hat ihre eigenen Teile.',
  'The log has no operating points of a converter.': 'Das Log enthält keine Betriebspunkte eines Wandlers.',
  'The log has no two operating points of a converter.':
    'Das Log enthält keine zwei Betriebspunkte eines Wandlers.',
  'A later evaluation has taken the place of this one, or an import was taken back.':
    'Eine spätere Auswertung hat diese ersetzt, oder ein Import wurde rückgängig gemacht.',
  'The evaluation has no such cell.': 'Diese Zelle kommt in der Auswertung nicht vor.',
  'The factors are of a study’s resistances and not of the cell’s own.':
    'Die Faktoren gelten den Widerständen einer Studie und nicht den eigenen der Zelle.',
  'The cell’s resistances were changed after this evaluation.':
    'Die Widerstände der Zelle wurden nach dieser Auswertung geändert.',
  '{{1}} of {{2}} cannot be taken over: {{3}}.': '{{1}} von {{2}} kann nicht übernommen werden: {{3}}.',
  '{{1}} cannot be taken over.': '{{1}} kann nicht übernommen werden.',
  '{{1}} has no ratio stage of equal paths, which a log needs.':
    '{{1}} hat keine Teilerstufe mit gleichen Pfaden, die ein Log braucht.',
  'A {{1}} stack cannot become {{2}}.': 'Ein Stack im Zustand „{{1}}“ kann nicht „{{2}}“ werden.',
  'A stack named {{1}} is there already.': 'Einen Stack mit dem Namen {{1}} gibt es schon.',
  'The stack {{1}} is {{2}}; only a planned one can be undone.':
    'Der Stack {{1}} ist {{2}}; nur ein geplanter kann rückgängig gemacht werden.',
  'The stack {{1}} has {{2}}; it is kept with them.':
    'Zum Stack {{1}} gehört noch etwas ({{2}}); er bleibt damit erhalten.',
  'The results of the traveller cannot be kept.':
    'Die Ergebnisse des Begleitblatts lassen sich nicht speichern.',
  'A stack was made of this pair already.': 'Aus diesem Paar wurde schon ein Stack.',
  'Only an accepted pair becomes a stack.': 'Nur aus einem angenommenen Paar wird ein Stack.',
  'The cell {{1}} is {{2}} meanwhile.': 'Die Zelle {{1}} ist inzwischen {{2}}.',
  'That {{1}} is {{2}} can be taken back for a day only.':
    'Dass {{1}} {{2}} ist, lässt sich nur einen Tag lang zurücknehmen.',
  'The cell {{1}} is no longer set aside from this stack.':
    'Die Zelle {{1}} ist nicht mehr aus diesem Stack beiseitegelegt.',
  'There is no {{1}} named {{2}}.': 'Das gibt es nicht: {{1}} mit dem Namen {{2}}.',
  '{{1}} is not on the list any more.': '{{1}} steht nicht mehr in der Liste.',
  'A converter needs a ratio stage or a regulator.':
    'Ein Wandler braucht eine Teilerstufe oder einen Regler.',
  'The converter cannot be used as it is described.':
    'Der Wandler ist so, wie er beschrieben ist, nicht verwendbar.',
  'The operating points cannot be used: {{1}}.': 'Die Betriebspunkte sind nicht verwendbar: {{1}}.',
  'The columns cannot be read.': 'Die Spalten sind nicht lesbar.',
  'No cell of {{1}} has a resistance with its temperature; import or evaluate pulse tests at two temperatures or more.':
    'Keine Zelle von {{1}} hat einen Widerstand mit seiner Temperatur; importieren oder werten Sie Pulstests bei zwei oder mehr Temperaturen aus.',
};
