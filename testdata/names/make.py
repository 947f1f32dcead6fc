"""Prints the table of src/picture/namedStars.ts: bright stars within 45 degrees of a pole, fainter ones near it.

    npm pack d3-celestial@0.7.35 && tar xzf d3-celestial-0.7.35.tgz && python3 make.py package/data

J2000 places and Bayer letters are the package's (BSD-3-Clause; it has them from the Hipparcos catalogue). Names that the
International Astronomical Union's working group on star names does not list (as far as remembered: from memory) are left out.
"""
import json
import sys

DROP = {'Regor', 'Navi', 'Men', 'Choo', 'Al Kalb al Rai', 'Circitores', 'Muhlifain'}
SPELL = {'Shedar': 'Schedar'}
folder = sys.argv[1]
names = json.load(open(f'{folder}/starnames.json'))
rows = []
for feature in json.load(open(f'{folder}/stars.8.json'))['features']:
    ra, dec = feature['geometry']['coordinates']
    magnitude = feature['properties']['mag']
    said = names.get(str(feature['id']))
    if not said or not said.get('bayer'):
        continue
    away = 90 - abs(dec)
    if not (away < 6 and magnitude < 7 or away < 12 and magnitude < 5.6 or away < 45 and magnitude < 3.05):
        continue
    name = said['name']
    if name in DROP or (name == 'Alnair' and said['c'] != 'Gru'):
        name = ''
    rows.append((magnitude, SPELL.get(name, name), f"{said['bayer']} {said['c']}", round(ra % 360, 4), round(dec, 4)))
for magnitude, name, letter, ra, dec in sorted(rows):
    print(f"  ['{name}', '{letter}', {ra}, {dec}],")
