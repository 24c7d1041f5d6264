"""Which column a heading means: in English, German, French, Spanish or Dutch, with or without unit.

Translations are common words of the trade (common practice, no source).
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

_UNIT = re.compile(r"(.+?)[\s_]*[\s_(\[](mm|cm|m|in|ft|yd|g|kg|oz|lb)[)\]]?")
_WORDS = """
pass: durchgang durchfahrt überfahrt fahrt passage pasada pase werkgang
start: anfang beginn startzeit début debut départ depart inicio comienzo begin aanvang
end: ende endzeit schluss fin final einde eind
time: zeit uhrzeit heure hora tijd tijdstip
date: datum tag jour fecha día dia dag
unit: einheit säeinheit saeinheit reihe élément element rang unidad cuerpo surco zaai_element
unit: rij
turns: umdrehungen drehungen tours nombre_de_tours vueltas giros omwentelingen toeren
setting: einstellung stufe loch réglage reglage trou ajuste regulación orificio instelling stand
setting: gat
crop: kultur gemüse pflanze culture espèce espece légume cultivo especie gewas
bed: beet planche cama bancal cantero
taped: gemessene_länge bandmaß longueur_mesurée longueur_mesuree longitud_medida gemeten_lengte
seed_lot: charge saatgutpartie partie lot_de_semences lote lote_de_semilla partij zaadpartij
seeds: samen körner koerner samenzahl graines semences semillas zaden zaadjes
weight: gewicht gramm poids grammes peso gramos gram
seeds_per_gram: samen_pro_gramm körner_pro_gramm graines_par_gramme semillas_por_gramo
seeds_per_gram: zaden_per_gram
seconds: sekunden secondes segundos seconden
turns_per_minute: umdrehungen_pro_minute u/min tours_par_minute tr/min vueltas_por_minuto
length: länge laenge strecke longueur longitud largo lengte
plants: pflanzen pflanzenzahl plantes plants_levés plantas planten
line: linie zeile ligne línea linea lijn regel
lines: linien reihen_pro_beet lignes líneas lineas lijnen
seeds_per_metre: samen_pro_meter graines_par_mètre graines_par_metre semillas_por_metro
seeds_per_metre: zaden_per_meter
spacing: abstand pflanzenabstand écartement ecartement espacement distancia marco afstand
spacing: plantafstand
row_spacing: reihenabstand interrang interligne entre_rangs entresurco rijafstand
rate: saatmenge aussaatmenge dose_de_semis dosis densidad_de_siembra zaaihoeveelheid
germination: keimfähigkeit keimfaehigkeit keimung germination faculté_germinative germinación
germination: kiemkracht
field_emergence: feldaufgang levée levee emergencia nascencia veldopkomst opkomst
depth: tiefe saattiefe ablagetiefe profondeur profundidad diepte zaaidiepte
"""
_REMARK_WORDS = "bemerkung bemerkungen notiz notizen remarque remarques nota notas observaciones \
opmerking opmerkingen note notes remark remarks comment comments"
REMARKS = frozenset(_REMARK_WORDS.split())
_PER = ("per", "pro", "par", "por", "/")
TRANSLATED = {
    word: name.strip()
    for name, _, words in (line.partition(":") for line in _WORDS.strip().splitlines())
    for word in words.split()
}
"""Name of the column by the other words for it, lower case, spaces as underscores."""
_TOTAL_WORDS = "total totals sum sums grand_total summe gesamt gesamtsumme insgesamt somme totaux \
suma totales totaal som σ ∑"
TOTALS = frozenset(_TOTAL_WORDS.split())


def word_of(heading: str) -> str:
    """A heading as one lower-case word."""
    return re.sub(r"[\s_.-]+", "_", heading.strip().lower()).strip("_:")


def column_of(heading: str, known: Sequence[str], also: Mapping[str, str]) -> tuple[str, str]:
    """Name of the column that a heading means and the unit it carries; "" for neither.

    >>> column_of("Länge (cm)", ["length"], {}), column_of("Weather", ["length"], {})
    (('length', 'cm'), ('', ''))
    """
    plain = " ".join(heading.strip().lower().split())
    with_unit = _UNIT.fullmatch(plain) if len(plain) < 80 else None
    for text, unit in [(plain, "")] + ([(with_unit[1], with_unit[2])] if with_unit else []):
        word = word_of(text)
        for name in (also.get(word, word), TRANSLATED.get(word, "")):
            if name in known:
                return name, unit
    return "", ""


def is_total(cell: str) -> bool:
    """Whether a cell says that its row or column is a sum.

    >>> is_total("Total:"), is_total("Summe"), is_total("beet")
    (True, True, False)
    """
    return word_of(cell) in TOTALS


def label_of(heading: str, values: str, labels: str, also: Mapping[str, str]) -> str:
    """The unit whose own column a heading opens ("turns A", "unit 2", "B"), "" for none.

    ``values`` is the column that the cells are of, ``labels`` the one that tells them apart.
    """
    words = re.split(r"[\s_:.()-]+", heading.strip().strip("()"))
    words = [word for word in words if word]
    if len(words) >= 2:
        for near, rest in ((words[0], words[1:]), (words[-1], words[:-1])):
            if column_of(near, [values, labels], also)[0] and len(rest) < 3:
                label = " ".join(rest)
                return "" if is_total(label) or rest[0].lower() in _PER else label
        return ""
    bare = words[0] if words else ""
    return bare if re.fullmatch(r"[A-Za-z]|\d{1,2}", bare, re.A) else ""
