"""Names of nebulae: every spelling, every name of the data and back, several of one name, near names, refusals."""

import re
import string

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.catalogue.nebulae import all_nebulae, find_named, find_nebula, names_like, nebulae_named
from planner.errors import InputError

SPELLINGS = {
    "Sh2-132": [
        "Sh2-132",
        "sh 2 132",
        "Sharpless 132",
        "SH2132",
        "sharpless 2-132",
        "Sh2–132",
        "LBN 473",
        "lion nebula",
    ],
    "LBN 552": ["LBN 552", "lbn552", "Lynds Bright Nebula 552", "LBN-0552"],
    "LDN 1622": ["LDN1622", "LDN 1622", "L 1622", "Boogeyman", "the boogeyman nebula"],
    "B 33": ["B 33", "Barnard 33", "b33", "Horsehead", "Horsehead Nebula"],
    "Sh2-136": ["vdB 141", "VDB141", "van den Bergh 141", "Ghost Nebula"],
    "RCW 38": ["RCW 38", "rcw38", "rcw-38"],
    "RCW 36": ["Gum 20", "GUM20"],
    "Sh2-240": [
        "Simeis 147",
        "S147",
        "SNR G180.0-1.7",
        "snr g180−1.7",
        "G180.0-1.7",
        "LBN 822",
        "Spaghetti Nebula",
    ],
    "NGC 7380": ["Wizard Nebula", "Wizard", "Sh2-142", "the Wizard Nebula"],
    "IC 1805": ["Heart Nebula", "ic 1805", "Sh2-190", "hEaRt"],
    "IC 1848": ["Soul Nebula", "soul"],
    "Sh2-103": ["Cygnus Loop", "Veil Nebula", "SNR G74.0-8.5", "LBN 191"],
    "Sh2-276": ["Barnard's Loop", "Barnard’s Loop", "barnards loop", "Barnard loop"],
    "Sh2-129": ["Sh2-129", "Flying Bat"],
    "LBN 437": ["LBN 437", "Gecko Nebula"],
    "Sh2-108": ["γ Cygni Nebula", "Gamma Cygni"],
    "NGC 3372": ["Carina Nebula", "Eta Carinae Nebula", "η Carinæ", "RCW 53", "Caldwell 92"],
    "NGC 2237": ["Rosette", "Rosétte Nebula", "Caldwell 49", "NGC 2238", "Sh2-275"],
    "M 42": ["M 42", "Messier 42", "Orion Nebula", "NGC 1976", "Sh2-281"],
    "M 16": ["Eagle Nebula", "IC 4703", "NGC 6611", "Gum 83"],
    "NGC 1909": ["IC 2118", "Witch Head", "vdB 36"],
    "IC 4628": ["IC 4628", "Prawn Nebula", "Ced 137b"],
    "NGC 2024": ["Flame Nebula", "NGC 2024"],
    "IC 4604": ["Rho Ophiuchi", "Rho Oph", "rho Oph nebula"],
    "IC 4592": ["Blue Horsehead", "IC 4592"],
    "SNR G116.9+0.2": ["CTB 1", "Abell 85"],
    "SNR G263.9-3.3": ["Vela SNR", "Vela Supernova Remnant"],
    "Sh2-27": ["Zeta Ophiuchi", "ζ Ophiuchi Nebula"],
}


@pytest.mark.parametrize(
    ("name", "spelling"), [(name, text) for name, texts in SPELLINGS.items() for text in texts]
)
def test_every_spelling_finds_the_nebula(name, spelling):
    assert find_nebula(spelling).name == name


def test_every_name_of_the_data_leads_back_to_its_nebula():
    nebulae = all_nebulae()
    for index in range(len(nebulae)):
        nebula = nebulae[index]
        found, together = nebulae_named(nebula.name)
        assert [item.index for item in found] == [index], nebula.name
        assert not together
        for name in nebula.names:
            others, together = nebulae_named(name)
            assert others, name
            # a name of several belongs to one that holds the rest, or is the number of entries of their own
            if not together and index not in [item.index for item in others]:
                assert len(others) == 1
                assert name in others[0].names or re.search(r"\d", name), (name, nebula.name, others[0].name)


@settings(max_examples=200, deadline=None)
@given(st.data())
def test_any_spelling_of_a_number_finds_it(data):
    nebulae = all_nebulae()
    nebula = nebulae[data.draw(st.integers(0, len(nebulae) - 1))]
    names = [
        name
        for name in nebula.names
        if re.fullmatch(r"(Sh2-|LBN |LDN |RCW |Gum |Ced |vdB |vdBH |B )\d+[a-z]?", name)
    ]
    if not names:
        return
    name = data.draw(st.sampled_from(names))
    prefix, number = re.fullmatch(r"(.*?)[ -](\d+[a-z]?)", name).groups()
    gap = data.draw(
        st.sampled_from(["", " ", "  ", "-", "_", "–", " - "] if prefix != "Sh2" else [" ", "-", "–", " - "])
    )
    spelt = "".join(data.draw(st.sampled_from([sign.upper(), sign.lower()])) for sign in prefix)
    zeros = data.draw(st.sampled_from(["", "0", "00"])) if prefix != "Sh2" else ""
    found, _ = nebulae_named(f"{spelt}{gap}{zeros}{number}")
    assert [item.name for item in found] == [item.name for item in nebulae_named(name)[0]]


@settings(max_examples=300, deadline=None)
@given(st.one_of(st.text(max_size=600), st.text(string.ascii_letters + string.digits + " -+.", max_size=12)))
def test_any_text_is_an_object_or_one_sentence(text):
    try:
        found = find_named(text)
    except InputError as error:
        assert "\n" not in str(error)
        assert 20 < len(str(error)) < 1500
    else:
        assert found.name


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("Sh2-400", "Sh2-400: the catalogue has 1 to 313; look the number up"),
        ("LBN 2000", "LBN 2000: the catalogue has 1 to 1125"),
        ("LDN 1413", "LDN 1413: the catalogue has 1 to 1802, but no place for this one"),
        ("RCW 116", "RCW 116: the catalogue has 1 to 182, but no place"),
        ("vdB 0", "vdB 0: the catalogue has 1 to 158"),
        ("M 200", "M 200: the catalogue has 1 to 110"),
        ("Gum Nebula", "the Gum Nebula is some 36 degrees across, wider than a mosaic; give the center"),
        ("Coalsack Nebula", "the Coalsack is some 7 by 5 degrees wide"),
        ("Pipe Nebula", r"'Pipe Nebula' fits several: B 59 \(.*\), B 78 \(.*\); name one of them"),
        ("Lobster Nebula", r"fits several: M 17 .*NGC 6357"),
        ("Sole Nebula", "has no object 'Sole Nebula'; did you mean 'Soul Nebula'"),
        ("Hart Nebula", "did you mean 'Heart Nebula'"),
        ("Lynds 552", "did you mean 'LDN 552' or 'LBN 552'"),
        ("Foo 8", "has no object 'Foo 8'; did you mean 'M 8' or 'NGC 8' or 'IC 8'"),
        ("RWC 36", r"did you mean 'RCW 36'\? Check the name, or give"),
        ("   ", "got an empty one"),
        ("星雲", "has no object '星雲'; check the name, or give"),
        ("x" * 500, r"has no object 'x{57}\.\.\.'; check the name, or give"),
    ],
)
def test_names_that_mean_nothing_or_several_say_so(name, sentence):
    with pytest.raises(InputError, match=sentence):
        find_named(name)


def test_nonsense_offers_nothing():
    with pytest.raises(InputError) as caught:
        find_named("qqqq zzzz")
    assert "did you mean" not in str(caught.value)


def test_names_while_one_types():
    assert names_like("wiz")[0].name == "NGC 7380"
    assert "NGC 7000" in [item.name for item in names_like("north am")]
    assert names_like("sh2-132")[0].name == "Sh2-132"
    assert names_like("") == [] == names_like("q")
    assert len(names_like("ldn 1", count=5)) == 5


def test_galaxies_are_still_found_where_openngc_alone_has_them():
    assert find_named("M 31").kind == "galaxy"
    assert find_nebula("M 31") is None
