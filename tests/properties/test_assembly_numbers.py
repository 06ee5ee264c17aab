"""Assembly numbers: the same assembly keeps its number whatever else changes, one that is built otherwise loses it."""

import math
from collections import Counter
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hosewright.checks.check import CheckResult, check
from hosewright.documents import assembly_numbers
from hosewright.documents.assembly_numbers import SIGNS, run_numbers, sample_numbers
from hosewright.jobfile import JobFile, read_text
from hosewright.standards.iso_7064 import check_characters, is_whole
from plannable_jobs import CATALOG, DUTY, HERE, MACHINE, NOTES

JOB = MACHINE.replace("steps = 4", "steps = 1")
BENT = "ends = [{ form = '90 short', clock = 20 }, { form = '45 short', clock = 100 }]\n"
RUNS = {
    "plain": 'hose = "2SC -8"\nlength = 1540\n',
    "bent": f'hose = "2SC -8"\nlength = 1600\n{BENT}',
    "turned": f'hose = "2SC -8"\nlength = 1600\norientation = 80\n{BENT}',
    "clamped": 'hose = "2SN -8"\nlength = 1700\nclamps = [{ mount = "m2", at = 500 }]\nsleeve = true\n',
}
SAMPLES = (
    '[[assembly]]\nname = "from the counter"\nhose = "2SC -8"\nlength = 850\nends = [{ form = "90 short" }, {}]\n',
    '[[assembly]]\nname = "from the yard"\nmarkings = "ISO 1436 2SN 12"\nmade = "2Q19"\npressure = 180\n',
)
OTHERWISE = {  # what makes another assembly of a run
    "plain": [
        ("1540", "1541"),
        ("2SC", "2SN"),
        ("plain", "bare"),
        ("1540", '1540\nends = [{ form = "45 short" }, {}]'),
    ],
    "bent": [("1600", "1600.5"), ("90 short", "90 medium"), ("clock = 20", "clock = 30")],
    "turned": [("orientation = 80", "orientation = 81"), ("45 short", "45 medium")],
    "clamped": [("500", "510"), ("true", "false"), ("2SN", "2SC")],
}
THE_SAME = {  # and what does not
    "plain": [("1540", '"1.54 m"'), ("1540", "1540.0"), ("flow = 18", "flow = 19"), ("1540", "1540\nbow = [0, 0, -1]")],
    "turned": [("clock = 20", "clock = 30"), ("orientation = 80", "orientation = '80 deg'")],
    "clamped": [("working = 150", "working = 140"), ("{ mount", "{ hold = 'fixed', mount")],
}


def text_of(runs: dict[str, str], samples: tuple[str, ...] = SAMPLES) -> str:
    tables = [f'[[run]]\nname = "{name}"\nfrom = "P"\nto = "Q"\n{DUTY}{rest}' for name, rest in runs.items()]
    return JOB + "".join((*tables, *samples))


@cache
def checked(text: str) -> tuple[JobFile, CheckResult]:
    file = read_text(text, HERE, CATALOG)
    return file, check(file.job)


def numbers(text: str) -> dict[str, str]:
    """By the name of the run or sample."""
    file, result = checked(text)
    runs = run_numbers(file, result)
    samples = sample_numbers(file, runs.values())
    return runs | {sample.name: number for sample, number in zip(file.samples, samples, strict=True)}


FIRST = text_of(RUNS)


def test_numbers_are_short_and_cannot_be_misread() -> None:
    made = numbers(FIRST)
    assert len(set(made.values())) == len(RUNS) + len(SAMPLES)
    for number in made.values():
        assert number[:2] == "H-"
        assert [len(part) for part in number.split("-")] == [1, 4, 4]
        assert not set(number[2:]) & set("01IOio")
        assert is_whole(f"{number}/{check_characters(number)}")


@settings(max_examples=6, deadline=None)
@given(st.permutations(list(RUNS)), st.permutations(SAMPLES), st.data())
def test_order_blanks_and_notes_change_no_number(names: list[str], samples: list[str], data: st.DataObject) -> None:
    text = text_of({name: RUNS[name] + data.draw(NOTES) for name in names}, tuple(samples))
    assert numbers(text.replace(" = ", data.draw(st.sampled_from([" = ", "  =  ", "="])))) == numbers(FIRST)


@pytest.mark.parametrize(("name", "old", "new"), [(name, *one) for name, all_ in OTHERWISE.items() for one in all_])
def test_what_is_built_otherwise_has_another_number_and_nothing_else_has(name: str, old: str, new: str) -> None:
    changed = {(key.replace(old, new) if key == name else key): rest for key, rest in RUNS.items()}
    key = name.replace(old, new)
    changed[key] = changed[key].replace(old, new)
    made, before = numbers(text_of(changed)), numbers(FIRST)
    assert made.pop(key) != before.pop(name)
    assert made == before


@pytest.mark.parametrize(("name", "old", "new"), [(name, *one) for name, all_ in THE_SAME.items() for one in all_])
def test_another_duty_or_another_way_to_write_it_keeps_the_number(name: str, old: str, new: str) -> None:
    whole = text_of(RUNS)
    begin = whole.index(f'name = "{name}"')
    assert old in whole[begin:]
    assert numbers(whole[:begin] + whole[begin:].replace(old, new, 1)) == numbers(FIRST)


def test_a_sample_has_its_number_from_its_own_table() -> None:
    before = numbers(FIRST)
    longer = numbers(text_of(RUNS, (SAMPLES[0].replace("850", "851"), SAMPLES[1])))
    assert longer.pop("from the counter") != before["from the counter"]
    assert longer.items() <= before.items()
    assert numbers(text_of(RUNS, (SAMPLES[0].replace("850", '"85 cm"'), SAMPLES[1]))) == before


def test_what_is_written_wins_and_is_not_given_twice() -> None:
    before = numbers(FIRST)
    taken = before["bent"]
    written = {**RUNS, "plain": f'number = "{taken}"\n{RUNS["plain"]}'}
    samples = (SAMPLES[0] + 'number = "C 7"\n', SAMPLES[1])
    made = numbers(text_of(written, samples))
    assert (made["plain"], made["from the counter"]) == (taken, "C 7")
    assert made["bent"] not in (taken, *(before[name] for name in RUNS))
    assert [made[name] for name in ("turned", "clamped")] == [before[name] for name in ("turned", "clamped")]
    recorded = {**RUNS, "plain": f'{RUNS["plain"]}[run.assembly]\nnumber = "{taken}"\n'}
    assert numbers(text_of(recorded, samples)) == made


def test_a_number_that_is_written_otherwise_is_not_given_either() -> None:
    before = numbers(FIRST)["bent"]
    written = {**RUNS, "plain": f'number = "{before.lower().replace("-", " ")}"\n{RUNS["plain"]}'}
    assert numbers(text_of(written))["bent"] != before


def test_two_of_ten_thousand_assemblies_hardly_share_a_number() -> None:
    """The birthday problem: of n draws from N the odds of any two alike are 1 - exp(-n (n - 1) / 2 N), nearly."""
    odds = -math.expm1(-10_000 * 9_999 / 2 / len(SIGNS) ** assembly_numbers.LENGTH)
    assert odds < 0.005e-2


def test_all_signs_of_a_number_tell_assemblies_apart() -> None:
    """Each of 32 signs at each of 8 places about as often: chi-squared of 31 degrees of freedom, 80 at odds of 3e-6."""
    made = assembly_numbers.derived([{"is": one} for one in range(6400)], ())
    for place in (2, 3, 4, 5, 7, 8, 9, 10):
        counts = Counter(number[place] for number in made)
        assert set(counts) == set(SIGNS)
        assert sum((count - 200) ** 2 / 200 for count in counts.values()) < 80


@settings(max_examples=50, deadline=None)
@given(st.lists(st.integers(0, 1000), unique=True, max_size=25), st.data())
def test_clashes_are_parted_whatever_the_order(contents: list[int], data: st.DataObject) -> None:
    order = data.draw(st.permutations(range(len(contents))))
    taken = data.draw(st.sets(st.sampled_from([f"H-{sign}" for sign in SIGNS]), max_size=7))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(assembly_numbers, "LENGTH", 1)  # 32 numbers in all
        made = assembly_numbers.derived([{"is": one} for one in contents], taken)
        turned = assembly_numbers.derived([{"is": contents[place]} for place in order], taken)
    assert len({*made, *taken}) == len(contents) + len(taken)
    assert turned == [made[place] for place in order]
