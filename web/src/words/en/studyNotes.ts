/** What limits the worth of a charge study, by the codes of its notes. */
export const studyNotes = {
  'asked-current-not-reached': 'The current that was asked for never flows.',
  'converter-one-efficiency': 'One efficiency does not say how the converter’s loss depends on its load.',
  'converter-without-loss':
    'The converter is described without losses: bus voltage, bus current and heat are too low.',
  'default-limits-not-datasheet':
    'Some limits are not from the datasheet but common practice for the chemistry.',
  'expected-slow-error': 'There is no slow branch: the real charge meets its limits sooner and ends later.',
  'fitted-heat-balance': 'Heat capacity and heat transfer were fitted from a test.',
  'held-at-zone-edge': 'A temperature zone holds the charge at its edge.',
  'life-law': 'Life against rate comes from the cycled cells and holds within the rates measured.',
  'life-law-held': 'Other stresses are held at their mean.',
  'life-law-weak': 'The dependence of life on the rate is weak: the trade-off shows a tendency, no more.',
  'life-law-without-temperature':
    'The life law knows nothing of temperature: a charge that heats the cell more may cost more life.',
  'measured-heat': 'Heat capacity and heat transfer come from a measured charge.',
  'measured-connections': 'The resistance of the connections comes from a measured charge.',
  'no-heat-balance':
    'Heat capacity and heat transfer are not known, so the temperature stays where it starts.',
  'no-life-law': 'There is no trade-off of rate against life: no assessment says how the rate changes it.',
  'no-uncertainty': 'No parameter has an uncertainty, so no interval is given.',
  'one-temperature':
    'Resistances were measured at one temperature only and do not change with temperature here.',
  'one-temperature-extrapolated': 'Resistances of one temperature are used at others.',
  'paused-by-zone': 'The charge pauses until the temperature has left a zone.',
  'temperature-law':
    'Resistances were measured at one temperature only; the temperature law of the cell type carries them over its range.',
  'zone-voltage-reached': 'The charge ends at the voltage of a temperature zone, before the cells are full.',
} as const;
