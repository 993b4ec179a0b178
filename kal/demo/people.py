"""Who takes part in the demo: invented people, the same every time."""

import random
from dataclasses import dataclass

DOMAIN = "knitters.example"  # reserved for examples by RFC 2606, so no mail can reach anyone

ZONES = (
    "Europe/Lisbon",
    "Europe/Berlin",
    "America/Toronto",
    "America/Santiago",
    "Australia/Hobart",
    "Asia/Tokyo",
    "Africa/Nairobi",
    "Europe/Helsinki",
    "America/Denver",
    "Pacific/Auckland",
    "Asia/Kolkata",
    "Europe/Dublin",
)
IN_YARDS = ("America/Toronto", "America/Denver")

FIRST_NAMES = (
    *("Abena", "Alma", "Anouk", "Aroha", "Bao", "Beatriz", "Birgit", "Bronagh"),
    *("Celeste", "Chiamaka", "Dagny", "Delphine", "Eira", "Elif", "Esme", "Farah"),
    *("Fenna", "Greta", "Hollis", "Idris", "Ilse", "Ines", "Isolde", "Jacinta"),
    *("Jun", "Kerttu", "Kiri", "Lars", "Leocadia", "Linnea", "Luisa", "Maeve"),
    *("Marisol", "Mbali", "Mirela", "Nadia", "Naoko", "Nerys", "Nils", "Odile"),
    *("Oona", "Oren", "Pania", "Petra", "Priya", "Quilla", "Ragnhild", "Rosalind"),
    *("Ruta", "Saoirse", "Sigrun", "Solveig", "Tamsin", "Teuvo", "Umber", "Vesna"),
    *("Wanjiru", "Xanthe", "Yusra", "Zofia"),
)


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody with an address that reaches nobody, and the zone and units they read in."""

    name: str
    email: str
    zone: str
    units: str

    @classmethod
    def called(cls, name: str, zone: str) -> "Person":
        local = name.lower().replace(" ", ".").rstrip(".")
        units = "imperial" if zone in IN_YARDS else "metric"
        return cls(name, f"{local}@{DOMAIN}", zone, units)


HOST_NAME = "Hana"
TEST_KNITTER = Person.called("Edda", "Europe/Berlin")
MODERATOR = Person.called("Mossie", "Europe/Dublin")
NEWCOMER = Person.called("Kit", "Europe/Lisbon")
DYER = Person.called("Dora", "Europe/Lisbon")


def host(zone: str) -> Person:
    """Return the organiser, who lives where the running knit-along's clock is."""
    return Person.called(HOST_NAME, zone)


def crowd(dice: random.Random) -> list[Person]:
    """Return the sixty participants: Kit, whom a newcomer signs in as, and 59 others."""
    names = dice.sample(FIRST_NAMES, 59)
    initials = "ABCDEFGHJKLMNOPRSTVW"
    others = [
        Person.called(f"{name} {dice.choice(initials)}.", dice.choice(ZONES)) for name in names
    ]
    return [NEWCOMER, *others]
