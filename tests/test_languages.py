"""Languages: the page's own words, and trees with translations beside them."""

from __future__ import annotations

import json
import random
import re
import shutil
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from browser import chromium, needs_chromium, reload, visit
from playwright.sync_api import Browser, expect
from sample_outline import PICTURES, sample
from test_walk_cases import begin
from walker import SVG, confirm, number, read_hazards

from treewright import kept_findings
from treewright.cli.main import main
from treewright.model.translation import translated
from treewright.model.tree import Tree
from treewright.project import Project, find_trees, lint_loaded, review_all
from treewright.render import site
from treewright.render.compile import compile_translations, compile_tree
from treewright.render.limit_words import LimitWords
from treewright.render.outline import Outline
from treewright.render.words import catalogue, languages
from treewright.syntax import translation
from treewright.text.source import Source

ROOT = Path(__file__).parents[1]
TREES = ROOT / "trees"


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as running:
        yield running


# ---- catalogues --------------------------------------------------------------------------------

# Words that are said by a key that is put together: how such keys start.
PUT_TOGETHER = (
    "kind.", "retest.kind.", "purpose.", "signal.", "facts.", "end.", "record.", "start.choose-",
    "load.", "store.", "limit.", "line.", "reading.", "way.", "index.", "doc.",
)  # fmt: skip


def forms(word: Any) -> dict[str, str]:
    return {"": word} if isinstance(word, str) else dict(word)


def test_there_is_english_and_two_more() -> None:
    assert languages()[0] == "en" and len(languages()) >= 3


@pytest.mark.parametrize("language", languages())
def test_a_catalogue_has_every_word_with_every_place_and_plural(language: str) -> None:
    english, other = catalogue("en").words, catalogue(language).words
    assert list(other) == list(english)
    for key, word in english.items():
        mine, theirs = forms(word), forms(other[key])
        # Plural categories of English, German and Spanish (CLDR, value from memory): one,
        # other, and Spanish "many" for millions, which is said as other.
        assert set(theirs) == set(mine) and set(mine) in ({""}, {"one", "other"}), key
        for form, text in theirs.items():
            asked = set(re.findall(r"\{(\w+)\}", mine[form]))
            assert set(re.findall(r"\{(\w+)\}", text)) == asked, (key, text)
            assert text.strip() == text and text, key


def test_every_word_is_said_somewhere_and_every_word_said_is_there() -> None:
    sources = [*(ROOT / "site").rglob("*.js"), *(ROOT / "site").glob("*.html")]
    sources += (ROOT / "src/treewright/render").glob("*.py")
    text = "\n".join(path.read_text(encoding="utf-8") for path in sources)
    plain = set(re.findall(r"(?<![\w.])t\('([a-z.-]+)'", text))
    plain |= set(re.findall(r"\.say\(\"([a-z.-]+)\"", text))
    plain |= set(re.findall(r"data-t=\"([a-z.-]+)\"", text))
    known = set(catalogue("en").words)
    plain = {key for key in plain if not key.endswith((".", "-"))}  # the rest is put to it
    assert plain <= known, plain - known
    quoted = set(re.findall(r"['\"`]([a-z][a-z.-]*)['\"`]", text))
    idle = {
        key for key in known - plain - quoted if not key.startswith(PUT_TOGETHER)
    } - {"language"}  # fmt: skip
    assert idle == set()


def test_signal_words_are_those_of_the_standards() -> None:
    # ANSI Z535.4 and ISO 3864-2, with their translations in use: values from memory.
    for language, words in {
        "en": ["DANGER", "WARNING", "CAUTION", "NOTICE"],
        "de": ["GEFAHR", "WARNUNG", "VORSICHT", "HINWEIS"],
        "es": ["PELIGRO", "ADVERTENCIA", "PRECAUCIÓN", "AVISO"],
    }.items():
        said = [catalogue(language).say(f"signal.{one}")
                for one in ("danger", "warning", "caution", "notice")]  # fmt: skip
        assert said == words


def test_limits_are_said_word_by_word() -> None:
    german = LimitWords("de", {"left": "links"}).say
    for english, expected in {
        "at least 2.8 bar": "mindestens 2.8 bar",
        "within": "im Sollbereich",
        "below": "darunter",
        "any below": "mindestens einer darunter",
        "any below 8.0 bar": "mindestens einer unter 8.0 bar",
        "only left above": "nur links darüber",
        "below 3 or above 5 bar": "unter 3 oder über 5 bar",
        "W24: 1.3 to 1.7 bar; others: 2 bar": "W24: 1.3 bis 1.7 bar; übrige: 2 bar",
        "left 1 to 2 bar, the others below 1 bar": "links 1 bis 2 bar, die übrigen unter 1 bar",
        "otherwise": "sonst",
    }.items():
        assert german(english) == expected
    assert LimitWords("en", {}).say("at least 2.8 bar") == "at least 2.8 bar"
    assert LimitWords("fr", {}).say("at least 2.8 bar") == "at least 2.8 bar"


# ---- translations ------------------------------------------------------------------------------


@cache
def pump() -> Tree:
    tree = Project().load(TREES / "water-pump.tree").tree
    assert tree
    return tree


@cache
def pumps() -> tuple[Outline, Outline]:
    own = compile_tree(pump())
    (german,) = compile_translations(pump(), own)
    return own, german


def decisive(value: Any) -> Any:
    """All of an outline but its texts."""
    texts = {
        "title", "machine", "about", "how", "items", "remedy", "to", "label", "detail", "details",
        "harm", "avoid", "caption", "text", "also", "tools", "parts", "licence", "access",
        "language", "place_titles",
    }  # fmt: skip
    if isinstance(value, tuple):
        return tuple(decisive(one) for one in value)
    if is_dataclass(value):
        return {
            one.name: decisive(getattr(value, one.name))
            for one in fields(value)
            if one.name not in texts
        }
    return value


def test_a_demo_tree_is_there_whole_in_german_and_decides_the_same() -> None:
    own, german = pumps()
    assert german.language == "de" and german.mark == own.mark
    assert decisive(german) == decisive(own)
    texts = json.dumps([hazard.title for hazard in german.hazards], ensure_ascii=False)
    assert "Der Brunnenschacht kann lautlos töten" in texts
    how = german.node("pump-supply").how  # a library's
    assert how.startswith("Messgerät im richtigen Bereich")
    assert german.node("shut-pressure").outcomes[1].label == "darunter"


def test_numbers_and_models_of_a_limit_are_the_same_in_both() -> None:
    own, german = pumps()
    for mine, theirs in zip(own.nodes, german.nodes, strict=True):
        for one, other in zip((*mine.specs, *mine.outcomes), (*theirs.specs, *theirs.outcomes),
                              strict=True):  # fmt: skip
            for key in ("text", "also", "detail"):
                here, there = (re.findall(r"[\d.]+", getattr(x, key, "")) for x in (one, other))
                assert here == there


def test_a_translated_tree_is_the_tree_where_nothing_is_translated() -> None:
    tree = pump()
    empty = replace(tree.translations[0], texts={}, names={}, language=tree.language)
    assert compile_tree(translated(tree, empty)) == compile_tree(tree)


def folder_of(folder: Path) -> Path:
    shutil.copytree(TREES / "lib", folder / "lib")
    for name in ("water-pump.tree", "water-pump.de.tree"):
        shutil.copy(TREES / name, folder / name)
    return folder / "water-pump.tree"


def change(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


@pytest.mark.parametrize(
    ("file", "old", "new", "said"),
    [
        ("water-pump.de.tree", "  if no: nein\n", "", "`breaker` is not whole"),
        ("lib/isolation.de.tree", "  - Sagen Sie allen, die mit", "  #", "`lock-out` is not whole"),
        ("water-pump.de.tree", "check breaker:", "check braker:", "there is no check `braker`"),
        ("water-pump.de.tree", "10 kohm und messen", "1 kohm und messen", "the numbers in `avoid`"),
        ("water-pump.de.tree", "edition: 2", "edition: 1", "translation of edition 1"),
        ("water-pump.tree", "check breaker:", "check mcb:", "there is no check `breaker`"),
    ],
)  # fmt: skip
def test_what_does_not_fit_is_found_and_an_unfinished_language_is_not_offered(
    tmp_path: Path, file: str, old: str, new: str, said: str
) -> None:
    path = folder_of(tmp_path)
    assert lint_loaded(Project().load(path)) == []
    change(tmp_path / file, old, new)
    loaded = Project().load(path)
    found = [one for one in lint_loaded(loaded) if one.rule == "not-translated"]
    assert any(said in one.message for one in found), [one.message for one in found]
    assert loaded.tree
    offered = compile_translations(loaded.tree, compile_tree(loaded.tree))
    assert bool(offered) == ("numbers" in said or "edition" in said)


def test_translations_are_told_with_their_trees_and_alone_when_asked(tmp_path: Path) -> None:
    path = folder_of(tmp_path)
    beside = tmp_path / "water-pump.de.tree"
    names = [one.name for one in find_trees([str(tmp_path)])]
    assert names == ["isolation.tree", "oil.tree", "water-pump.tree"]
    assert find_trees([str(beside)]) == [beside]
    assert lint_loaded(Project().load(beside)) == []
    path.unlink()
    (found,) = lint_loaded(Project().load(beside))
    assert found.rule == "not-translated" and "no tree or library beside" in found.message


def test_a_new_translation_is_noticed_where_findings_are_kept(tmp_path: Path) -> None:
    path = folder_of(tmp_path)
    beside = tmp_path / "water-pump.de.tree"
    aside = tmp_path / "aside"
    beside.rename(aside)
    assert review_all([path], keep=True).findings == ()
    assert path in kept_findings.known([path])
    aside.rename(beside)
    change(beside, "  if no: nein\n", "")
    assert path not in kept_findings.known([path])
    assert [one.rule for one in review_all([path], keep=True).findings] == ["not-translated"]
    assert [one.rule for one in review_all([path], keep=True).findings] == ["not-translated"]
    change(beside, "Am Verteiler.", "Am Kasten.")
    assert path not in kept_findings.known([path])


def test_a_folder_with_translations_is_tidied_and_built(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder_of(tmp_path)
    before = (tmp_path / "water-pump.de.tree").read_bytes()
    assert main(["tidy", "--check", str(tmp_path)]) == 0, capsys.readouterr()
    assert main(["site", str(tmp_path), "--out", str(tmp_path / "out")]) == 0
    assert (tmp_path / "water-pump.de.tree").read_bytes() == before
    page = (tmp_path / "out" / "water-pump.html").read_text(encoding="utf-8")
    assert 'id="de-step-breaker"' in page
    assert main(["tidy", str(tmp_path / "water-pump.de.tree")]) in (0, 1)
    assert (tmp_path / "water-pump.de.tree").read_bytes() == before


def test_whatever_stands_in_a_translation_it_is_read_and_nothing_is_raised() -> None:
    text = (TREES / "water-pump.de.tree").read_text(encoding="utf-8")
    original = Project().parse(TREES / "water-pump.tree", "water-pump.tree")[0]
    chance = random.Random(3)
    pieces = [":", "\n", "  ", "\t", "-", "#", "if ", "place", "\u202e", "tools: ,", "check x: y"]
    for _ in range(60):
        broken = text[: chance.randrange(len(text))]
        for _ in range(20):
            at = chance.randrange(len(broken) + 1)
            cut = at + chance.choice((0, 0, 1, 5, 50))
            broken = broken[:at] + chance.choice(pieces) + broken[cut:]
        file, found = translation.parse(Source("water-pump.de.tree", broken))
        from treewright.model.translation import softened
        from treewright.model.translation import translation as match

        one = match(pump(), "de", [(original, file)], softened(found))
        compile_tree(translated(pump(), one))
        for finding in one.slips:
            assert finding.message == finding.message.strip() and finding.span.text is not None


# ---- in the page -------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def page_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    own, german = pumps()
    file = tmp_path_factory.mktemp("pump") / "water-pump.html"
    file.write_text(site.page(own, "", {}, (german,)), encoding="utf-8")
    return file


def test_every_id_is_there_once(page_file: Path) -> None:
    ids = re.findall(r'\sid="([^"]+)"', page_file.read_text(encoding="utf-8"))
    assert len(ids) == len(set(ids))


@needs_chromium
def test_the_reader_changes_the_language_and_the_job_stays_where_it_is(
    browser: Browser, page_file: Path
) -> None:
    own, german = pumps()
    with visit(browser, page_file) as seen:
        page = seen.page
        begin(page, own, "dead", "W24")
        page.locator(".card .answers button").first.click()
        at = number(page)
        expect(page.locator(".card .question")).to_have_text("Supply voltage at the pump isolator")
        page.get_by_label("Language").select_option("de")
        assert number(page) == at
        card = page.locator(".card")
        expect(card.locator(".question")).to_have_text(german.node("pump-supply").title)
        expect(card.locator(".hazard .signal").first).to_have_text("GEFAHR")
        page.get_by_role("button", name="Gelesen: weiter").click()
        expect(card.locator(".facts")).to_contain_text("Werkzeug")
        assert page.evaluate("document.documentElement.lang") == "de"
        expect(page.locator("header h1")).to_have_text(german.title)
        assert page.locator("header").get_attribute("lang") == "de"
        assert page.title() == german.title
        reload(page)
        expect(card.locator(".question")).to_have_text(german.node("pump-supply").title)
        # A language that the tree is not written in: the page's own words only.
        page.get_by_label("Sprache").select_option("es")
        expect(card.locator(".question")).to_have_text("Supply voltage at the pump isolator")
        expect(page.locator("#walk .hazard .signal").first).to_have_text("PELIGRO")
        spoken = "it => it.closest('[lang]').lang"
        assert page.locator("#walk .hazard .signal").first.evaluate(spoken) == "es"
        assert page.locator(".hazard-line").first.evaluate(spoken) == "en"
        assert card.locator(".question").evaluate(spoken) == "en"


@needs_chromium
def test_a_job_is_done_in_german_from_the_first_word_to_the_record(
    browser: Browser, page_file: Path
) -> None:
    with visit(browser, page_file) as seen:
        page = seen.page
        page.get_by_label("Language").select_option("de")
        page.locator("input[name=symptom][value=cycles]").check()
        page.get_by_label("W24").check()
        expect(page.locator(".ready")).to_contain_text("Reifendruckprüfer mit 0.1 bar Teilung")
        page.get_by_role("button", name="Beginnen").click()
        read_hazards(page)
        page.locator(".card .answers button").filter(has_text="Wasser").click()
        for _ in range(40):
            if page.locator(".card.record").count():
                break
            read_hazards(page)
            if page.get_by_role("button", name="Jetzt nicht repariert").count():
                page.get_by_role("button", name="Jetzt nicht repariert").click()
            else:
                confirm(page)
        text = page.locator(".card.record").inner_text()
        for words in ("Protokoll dieses Auftrags", "Membran des Behälters ist gerissen",
                      "Gefunden, aber nicht repariert", "Seriennummer"):  # fmt: skip
            assert words in text
        for words in ("Fault", "Repaired", "tank", "Found"):
            assert words not in text


@needs_chromium
def test_without_script_both_languages_stand_there_one_behind_the_other(
    browser: Browser, page_file: Path
) -> None:
    with visit(browser, page_file, script=False) as seen:
        page = seen.page
        page.locator(".languages a", has_text="Deutsch").click()
        assert page.url.endswith("#document-de")
        link = page.locator("#de-step-breaker .answers a").first
        link.click()
        assert "#de-step-" in page.url
        targets = page.locator("#document-de a").evaluate_all(
            "links => links.map(link => link.getAttribute('href'))"
        )
        assert targets and all(target.startswith("#de-") for target in targets)
        assert page.locator("#document-de").get_attribute("lang") == "de"


@needs_chromium
@pytest.mark.parametrize(("tag", "words", "lang"), [("de", "Was stimmt nicht?", "de"),
                                                    ("de-AT", "Was stimmt nicht?", "de"),
                                                    ("fr", "What is wrong?", "en")])  # fmt: skip
def test_a_tree_may_be_written_in_another_language(
    browser: Browser, tmp_path: Path, tag: str, words: str, lang: str
) -> None:
    file = tmp_path / "weak-jet.html"
    file.write_text(site.page(replace(sample(), language=tag), SVG, PICTURES), encoding="utf-8")
    with visit(browser, file, script=False) as seen:
        assert seen.page.evaluate("document.documentElement.lang") == lang
        title = seen.page.locator("#step-float .title")
        assert title.evaluate("it => it.closest('[lang]').lang") == (tag if lang == "en" else lang)
    with visit(browser, file) as seen:
        expect(seen.page.locator("h2").first).to_have_text(words)
        assert seen.page.evaluate("document.documentElement.lang") == lang
        about = seen.page.locator(".start .how")
        assert about.evaluate("it => it.closest('[lang]').lang") == tag
