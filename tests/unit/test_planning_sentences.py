import pytest
from numpy.testing import assert_allclose

from trialcut.errors import QuantityError
from trialcut.planning.demands import DemandKind
from trialcut.planning.sentences import parse_sentence

INCH = 0.0254


def test_the_sentence_of_an_e_mail_is_read_whole():
    sentence = parse_sentence("1/2 in 6061, sizes ±0.005 in, 125 µin, 50 off")
    assert_allclose(sentence.thickness, 0.5 * INCH, rtol=1e-15)
    assert (sentence.material, sentence.quantity, sentence.odds, sentence.system) == (
        "6061",
        50,
        None,
        "inch",
    )
    assert [(ask.on, ask.kind) for ask in sentence.asks] == [
        (("part",), DemandKind.SIZE),
        (("part",), DemandKind.FINISH),
    ]


def test_clauses_come_in_any_order_and_in_metric():
    sentence = parse_sentence("qty 50; ±0,1 mm; 90 % odds; square within 0.1 mm; 304 stainless 6 mm thick.")
    assert_allclose(sentence.thickness, 0.006, rtol=1e-15)
    assert (sentence.material, sentence.quantity, sentence.odds) == ("304 stainless", 50, 0.9)
    assert [ask.kind for ask in sentence.asks] == [DemandKind.SIZE, DemandKind.SQUARENESS]
    assert sentence.system == "metric"


@pytest.mark.parametrize(
    ("text", "thickness", "material"),
    [
        ("1 in plate", INCH, None),
        ('1-1/4" 6061-T6 aluminium plate', 1.25 * INCH, "6061-T6 aluminium"),
        ("12,7 mm 6061", 0.0127, "6061"),
        ("mild steel 10 mm thick", 0.01, "mild steel"),
        ("Material: 6061-T651, thickness 1/2 in", 0.0127, "6061-T651"),
        ("6061, 1/2 in", 0.0127, "6061"),
    ],
)
def test_thickness_and_material_are_told_apart(text, thickness, material):
    sentence = parse_sentence(text)
    assert_allclose(sentence.thickness, thickness, rtol=1e-15)
    assert sentence.material == material


@pytest.mark.parametrize(
    ("clause", "quantity"),
    [
        ("50 off", 50),
        ("50 pieces", 50),
        ("50 pcs.", 50),
        ("x50", 50),
        ("50x", 50),
        ("qty: 50", 50),
        ("1,000 off", 1000),
        ("lot of 12", 12),
    ],
)
def test_the_number_of_pieces_is_read_as_people_write_it(clause, quantity):
    assert parse_sentence(f"1/2 in 6061, {clause}").quantity == quantity


def test_demands_on_edges_stand_in_a_sentence_too():
    sentence = parse_sentence(
        "1/2 in 6061, A1, A3: 40 mm ±0.1, B: 10 H11, edges A2 and A4: square 0.1 mm, ISO 2768 m"
    )
    assert [ask.on for ask in sentence.asks] == [("A1", "A3"), ("B",), ("A2", "A4"), ("part",)]


@pytest.mark.parametrize(
    "text",
    [
        '1/2" 6061-T6, all dims +/-.005", 50 pcs',
        "6061 T6 1/2 in thick; tol. ±0.005 in; 50 off",
        "50 off 1/2 in 6061, sizes within ±0.005 in",
        "hold +-5 thou, 1/2 in 6061, quantity 50",
        "1/2 in 6061, tolerance plus or minus 0.005 in with 95 % odds, 50 off",
        "1/2in 6061\n±0.005in\n50off",
    ],
)
def test_one_enquiry_is_understood_in_many_wordings(text):
    sentence = parse_sentence(text)
    assert_allclose(sentence.thickness, 0.5 * INCH, rtol=1e-15)
    assert sentence.material.startswith("6061")
    assert sentence.quantity == 50
    (ask,) = sentence.asks
    assert_allclose([ask.lower, ask.upper], [-0.005 * INCH, 0.005 * INCH], rtol=1e-14)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "1 in plate, ±0.005, 125 finish, 50 pieces",
            "'±0.005' has no unit: write '±0.005 in' or '±0.005 mm'",
        ),
        ("1 in plate, 125 finish", "'125' has no unit: write '125 uin' or '125 um'"),
        ("1/2 6061, ±0.005 in", "'1/2 6061' has no unit: write '1/2 in' or '1/2 mm'"),
        ("1/2 in 6061, 125", "'125' can be read two ways: write '125 uin' for a finish or 'material 125'"),
        ("1/2 in 6061, 3/4 in plate", "'3/4 in plate' states the thickness a second time: keep one"),
        ("1/2 in 6061, holes H11", "'holes H11': a fit is for one size: name the opening, as 'B: H11'"),
        (
            "1/2 in 6061, fifty off",
            "'fifty off' is not understood: write thickness and material, demands and pieces as "
            "'1/2 in 6061, sizes ±0.005 in, 50 off'",
        ),
        ("1/2 in 6061, 0 off", "'0 off' is no number of pieces: write 1 or more, as '50 off'"),
        (
            "1/2 in 6061, 150 % odds",
            "'150 % odds': odds lie between 0 and 1: write '95 % odds' or 'odds 0.95'",
        ),
        (" ", "an empty sentence asks nothing: write as '1/2 in 6061, sizes ±0.005 in, 50 off'"),
    ],
)
def test_a_sentence_that_cannot_be_read_names_the_clause_and_the_remedy(text, message):
    with pytest.raises(QuantityError) as caught:
        parse_sentence(text)
    assert str(caught.value) == message
