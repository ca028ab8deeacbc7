/** What limits the worth of a charge study, by the codes of its notes. */
export const studyNotes = {
  'asked-current-not-reached': 'Der gefragte Strom fließt nie, weil eine Grenze ihn hält.',
  'converter-one-efficiency':
    'Ein einziger Wirkungsgrad sagt nicht, wie der Verlust des Wandlers von der Last abhängt. Zwei gemessene Betriebspunkte trennen Widerstand und festen Verlust.',
  'converter-without-loss':
    'Der Wandler ist ohne Verluste beschrieben: Spannung und Strom am Bus und die Wärme sind zu niedrig.',
  'default-limits-not-datasheet':
    'Einige Grenzen stammen nicht aus dem Datenblatt, sondern sind für die Zellchemie üblich, ohne Quelle.',
  'expected-slow-error':
    'Es gibt keinen langsamen Zweig: Die wirkliche Ladung erreicht die Spannungsgrenze früher und endet zu einer anderen Zeit.',
  'fitted-heat-balance': 'Wärmekapazität und Wärmeübergang wurden aus einem Test angepasst.',
  'held-at-zone-edge':
    'Eine Temperaturzone hält die Ladung an ihrer Grenze; der Strom wechselt dort zwischen den Werten beider Seiten.',
  'life-law':
    'Die Lebensdauer über der Laderate stammt von den gealterten Zellen und gilt nur innerhalb der gemessenen Raten.',
  'life-law-held': 'Andere Belastungen sind auf ihrem Mittel gehalten.',
  'life-law-weak':
    'Die Abhängigkeit der Lebensdauer von der Rate ist schwach: Der Kompromiss zeigt nur eine Tendenz.',
  'life-law-without-temperature':
    'Das Lebensdauergesetz enthält die Temperatur nicht: Eine Ladung, die die Zelle stärker erwärmt, kann mehr Lebensdauer kosten.',
  'measured-heat': 'Wärmekapazität und Wärmeübergang stammen aus einer gemessenen Ladung.',
  'measured-connections': 'Der Widerstand der Verbindungen stammt aus einer gemessenen Ladung.',
  'no-heat-balance':
    'Wärmekapazität und Wärmeübergang sind nicht bekannt, deshalb bleibt die Temperatur, wie sie beginnt.',
  'no-life-law':
    'Rate gegen Lebensdauer lässt sich nicht abwägen: Keine Beurteilung sagt, wie die Rate sie ändert.',
  'no-uncertainty':
    'Kein Parameter hat eine Unsicherheit, deshalb wird kein Intervall angegeben: Geben Sie die Unsicherheiten von Kapazität, Widerständen, Leerlaufspannung oder Anfangs-SOC an.',
  'one-temperature':
    'Widerstände wurden nur bei einer Temperatur gemessen und ändern sich hier nicht mit ihr; eine kältere Zelle hat höhere.',
  'one-temperature-extrapolated':
    'Widerstände einer Temperatur werden auch bei anderen verwendet; eine kältere Zelle hat höhere.',
  'paused-by-zone': 'Die Ladung pausiert, bis die Temperatur eine Zone verlassen hat.',
  'temperature-law':
    'Widerstände wurden nur bei einer Temperatur gemessen; das Temperaturgesetz des Zelltyps trägt sie über seinen Bereich.',
  'zone-voltage-reached':
    'Die Ladung endet bei der Spannung einer Temperaturzone, bevor die Zellen voll sind.',
};
