"""What a finding is known by stays when lines move and entries are put in above it."""

import pytest

from bmslint.data import rules_dir
from bmslint.judge.identity import identity, named_path
from bmslint.judge.judge import judge
from bmslint.judge.pack import load_pack
from bmslint.settings import read_text

DATA = {
    "charge_paths": [{"name": "mains"}, {"name": "wind [2]"}, {"name": "twice"}, {"name": "twice"}, {}],
    "charge_current": {"steps": [{"from_degC": -5.5}, {"from_degC": 10.0}]},
    "protection": {"discharge_overcurrent": [{"trip_above_A": 250.0}], "charge_cold": {"sensors": ["skin"]}},
}


@pytest.mark.parametrize(
    ("path", "named"),
    [
        ("charge_paths[0].obeys", "charge_paths[name=mains].obeys"),
        ("charge_paths[1]", "charge_paths[name=wind [2]]"),
        ("charge_paths[2]", ""),
        ("charge_paths[3].max_A", ""),
        ("charge_paths[4]", ""),
        ("charge_paths[5]", ""),
        ("charge_current.steps[0].max_A", "charge_current.steps[from_degC=-5.5].max_A"),
        ("charge_current.steps[1].max_A", "charge_current.steps[from_degC=10].max_A"),
        ("protection.discharge_overcurrent[0].delay_s", ""),
        ("protection.charge_cold.sensors[0]", ""),
        ("protection.charge_cold", ""),
        ("pack.cell.limits.charge_current[0]", ""),
    ],
)
def test_entries_are_called_by_their_names_where_these_are_their_own(path: str, named: str) -> None:
    assert named_path(path, DATA) == named


def test_findings_keep_their_identity_when_lines_and_entries_move() -> None:
    text = (rules_dir().parent / "profiles/failing/braking-ignores-cold.yaml").read_text(encoding="utf-8")
    head, paths = text.split("charge_paths:\n")
    above = (
        "  - {name: another, max_A: 1, obeys: [charge_cold, charge_hot, charge_current, cell_overvoltage]}\n"
    )
    moved = f"# a line more\n{head}charge_paths:\n{above}{paths}"
    pack = load_pack()
    before, after = (judge(read_text(each, "p.yaml"), pack).findings for each in (text, moved))
    assert [identity(each) for each in before] == [identity(each) for each in after]
    speaks = "path-ignores-cold-inhibit charge_paths[name=braking].obeys"
    places = [
        [(each.path, each.line) for each in found if identity(each) == speaks] for found in (before, after)
    ]
    assert places == [[("charge_paths[1].obeys", 69)], [("charge_paths[2].obeys", 71)]]
