"""The invented vocabulary of the synthetic jobs: several thousand words, the frequent ones first.

Customers, places and people are made of parts and stand for nobody. German compounds stand for the
long tail of a trade's language. Common practice, no source.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterable

FREQUENT = """the and is it to a of at on in we was for with this that now up down so one two
all then press belt side good here they them back left right top bottom just again little still
after before ok heat cool time plate fingers splice look looks clean edge set out off line from
there when until got has have had been not no yes done next first second last over under through
about some more"""
TRADE = """clamp clamped hose gasket roller frayed dry punched template dwell platen pressure
steady bubbles bubble none shift oven outfeed infeed sorting baggage gate parcel dough sugar
salt dust worn guide groove tension marks tracking scraper pulley bearing gearbox motor drive
tail head idler carcass cover weld seam joint finger skived overlap butt stitch fleece silicone
sheet teflon foil release paper air water cooling pump valve leak hiss fan filter fuse cable
plug phase supply breaker isolator padlock tag lockout permit forklift trolley ladder platform
crane hoist rope tape knife cutter punch die pin bolt nut washer spanner torque gauge caliper
ruler chalk marker pen photo card light torch shade glare blur lens camera phone glove goggles
boots helmet apron sleeve burn smoke fume smell colour white blue green black grey beige smooth
rough shiny dull soft hard stiff supple cold warm hot humid damp wet greasy oily sticky dusty
crumbs flour starch cocoa nuts coffee tea cheese milk yoghurt butter bread bun bagel pretzel
cake biscuit tray crate box pallet carton label bottle can jar lid cap film wrap bag sack bale
chip chips log board veneer panel plank sawdust tile brick clay gravel sand stone ore coal ash
cement lime glass bottlebank scrap metal foilstock paperroll night morning noon evening weekend
holiday delay waiting urgent spare stock order invoice quote customer foreman operator
electrician supervisor cleaner driver guard visitor helper apprentice measured checked accepted
rejected rework repeated trimmed squared aligned levelled centred shifted tightened loosened
lifted lowered opened closed locked unlocked swapped replaced repaired cleaned wiped brushed
blown dried heated cooled soaked held released inspected photographed noted signed step gap
offset skew width length pitch thickness sag ridge dent crack tear hole nick scratch stain
crooked wavy curled shrunk stretched twisted bowed flat even uneven parallel square straight
bent slow quick early late long short wide narrow thick thin deep shallow loud quiet heavy light
empty full profile cleat sidewall vee notch rib lug slot recess chamfer radius corner centreline
midline thermometer sensor controller display timer buzzer alarm relay fusebox transformer
generator compressor regulator manifold bladder hosepipe coupling nipple seal oring grease spray
alcohol rag underside upside crossways lengthways overhead underneath alongside inboard outboard
upstream downstream mezzanine basement gantry pit chute hopper funnel spiral elevator incline
decline curve merge divert scanner reject checkweigher metaldetector palletiser wrapper slicer
proofer freezer"""
_GERMAN_HEADS = """Förder Gurt Press Heiz Kühl Druck Spann Umlenk Trag Antriebs Schweiss
Verbindungs Finger Stanz Mess Prüf Lauf Kanten Deck Gewebe Führungs Keil Abstreif Wasser Luft
Strom Sicherheits Werk Halle Schicht Backwaren Zucker Mühlen Paket Koffer Glas Ziegel Kies Käse
Molkerei"""
_GERMAN_TAILS = """band rolle platte zeit temperatur schlauch dichtung fühler regler rahmen
schablone stelle prüfung kante breite länge dicke naht lage leiste schiene trommel welle lager
motor kabel schalter anzeige messung toleranz protokoll auftrag wechsel pause störung freigabe
abnahme meister leitung pumpe"""
_PLACE_HEADS = """Lark Oster Veldt Crann Tin Harrow Kest Brim Dun Elder Fenn Gorse Hazel Iver
Jarrow Kel Lind Marl Nether Orl Pend Quill Rush Stan Thorn Ulver Wex Yar Alder Birk Cop Dray Ebb
Farn Glen Holm Ing Kirn Loft Moss"""
_PLACE_TAILS = """field holm brook bridge dale wick ford mere stead thorpe combe hurst ley worth
den gate haven moor shaw well"""
_SURNAME_HEADS = """Müll Schröd Bäck Köhl Jäg Kräm Wägn Löff Brück Hübn Grün Vög Böhm Färb
Döring Zell Reim Holz Berg Wald Stein Sand Linden Eich Birken"""
_SURNAME_TAILS = "er mann huber inger bauer hold rich brecht ner wald"
_TRADES = """Bakery Parcel Sugar Salt Mill Dairy Foods Quarry Timber Glassworks Ceramics
Packaging Baggage Laundry Recycling Brewery Fruit Poultry Chocolate Coffee"""
IDENTIFIERS = ("CV-120A", "CV-121B", "CV-88C", "PVC-2M8", "ST1000/5", "ST630/3", "TPU-U2", "EL-07")
MANNED = ("O'Brien", "O'Hara", "D'Arcy")


def _words(text: str) -> list[str]:
    return list(dict.fromkeys(text.split()))


def _joined(heads: str, tails: str) -> list[str]:
    return [head + tail for tail, head in itertools.product(_words(tails), _words(heads))]


PLACES = _joined(_PLACE_HEADS, _PLACE_TAILS)
SURNAMES = [*_joined(_SURNAME_HEADS, _SURNAME_TAILS), *MANNED]
GERMAN = _joined(_GERMAN_HEADS, _GERMAN_TAILS)
CUSTOMERS = [
    f"{place} {trade}"
    for place, trade in zip(PLACES, itertools.cycle(_words(_TRADES)), strict=False)
]


def _mixed(words: Iterable[str]) -> list[str]:
    """In an order that has nothing to do with how they were made, the same in every run."""
    mixed = list(words)
    random.Random("vocabulary").shuffle(mixed)
    return mixed


# By falling frequency: word number n is drawn with a weight of about 1 / n (Zipf's law).
SPOKEN = list(
    dict.fromkeys(
        [*_words(FREQUENT), *_mixed(_words(TRADE)), *_mixed([*GERMAN, *PLACES, *SURNAMES])]
    )
)
WEIGHTS = list(itertools.accumulate(1 / (rank + 2.7) for rank in range(len(SPOKEN))))
