import pytest

from backreef.catalogue.find import Kind, find
from backreef.catalogue.load import load_catalogue

MEANT = [
    ("species", "yellow_tang", "yellow_tang"),
    ("species", "Yellow Tang", "yellow_tang"),
    ("species", "Zebrasoma flavescens", "yellow_tang"),
    ("species", "zebrasoma_flavescens", "yellow_tang"),
    ("species", "Z. flavescens", "yellow_tang"),
    ("species", "Premnas biaculeatus", "maroon_clown"),
    ("species", "Amphiprion ocellaris", "ocellaris_clown"),
    ("species", "SCOTT’S  fairy-wrasse", "scotts_fairy_wrasse"),
    ("species", "blue hippo tang", "regal_blue_tang"),
    ("species", "Kupang damsel", "azure_damsel"),
    ("species", "Pictichromis paccagnellae", "royal_dottyback"),
    ("species", "Heteractis magnifica", "magnificent_anemone"),
    ("species", "Centropyge loriculus", "flame_angel"),
    ("species", "Mithrax sculptus", "emerald_crab"),
    ("species", "GSP", "star_polyps"),
    ("foods", "frozen mysids", "fz_mysid"),
    ("devices", "screw feeder", "feeder_auger"),
    ("tasks", "travel", "travel"),
    ("guilds", "Hunter of pods", "pod_picker"),
]


@pytest.mark.parametrize(("kind", "text", "ident"), MEANT)
def test_it_finds_what_is_called_so(kind: Kind, text: str, ident: str) -> None:
    found = find(load_catalogue(), kind, text)
    assert found.entry is not None
    assert found.entry.id == ident
    assert ident not in found.near


NEAR = [
    ("species", "yelow tang", "yellow_tang"),
    ("species", "amphiprion_ocelaris", "ocellaris_clown"),
    ("species", "occelaris clownfish", "ocellaris_clown"),
    ("species", "mandarin dragonet", "mandarin"),
    ("species", "anthias", "dispar_anthias"),
    ("species", "sixline wrase", "sixline_wrasse"),
    ("species", "bubble-tip anemonie", "bta"),
    ("species", "Pseudochromis paccagnellae", "royal_dottyback"),
    ("species", "pistol shrimp", "tiger_pistol"),
    ("foods", "pelet_small", "pellet_small"),
    ("devices", "auger", "feeder_auger"),
    ("tasks", "water change", "wc_do"),
]


@pytest.mark.parametrize(("kind", "text", "ident"), NEAR)
def test_it_offers_what_may_have_been_meant(kind: Kind, text: str, ident: str) -> None:
    found = find(load_catalogue(), kind, text)
    assert found.entry is None
    assert ident in found.near


@pytest.mark.parametrize("text", ["qqqq", "", "  ", "0"])
def test_it_offers_nothing_where_nothing_is_near(text: str) -> None:
    found = find(load_catalogue(), "species", text)
    assert found.entry is None
    assert found.near == ()


def test_it_names_the_other_form_of_the_same_animal() -> None:
    assert "ocellaris_designer" in find(load_catalogue(), "species", "Amphiprion ocellaris").near


def test_it_offers_a_few_only() -> None:
    assert len(find(load_catalogue(), "species", "wrasse").near) == 5


@pytest.mark.parametrize(
    ("asked", "ident"),
    [
        ("Nassarius vibex", "nassarius"),
        ("Phrontis vibex", "nassarius"),
        ("Heteractis magnifica", "magnificent_anemone"),
        ("Chromis retrofasciata", "blackbar_chromis"),
        ("Ostracion cubicus", "yellow_boxfish"),
        ("Engina mendicaria", "bumblebee_snail"),
        ("Lo vulpinus", "foxface"),
    ],
)
def test_an_older_name_finds_the_animal(asked: str, ident: str) -> None:
    entry = find(load_catalogue(), "species", asked).entry
    assert entry is not None
    assert entry.id == ident
