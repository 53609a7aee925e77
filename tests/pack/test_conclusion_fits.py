"""A conclusion fits 360 x 640: what it is, how sure, the deciding test, what to do now, minutes, the other causes."""

from dataclasses import replace
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser

from diagnose.present.conclusion import suspect_of
from diagnose.session.session import conclude
from diagnose.session.summary import summarise
from tests.pack.page import opened
from tests.pack.walk import answer, begin
from tests.shipped import begun, knowledge, reasoner

SCREEN = 640
HEIGHT = "() => document.querySelector('.conclusion').getBoundingClientRect().height"
WITH_CAUSE = """(causes) => {
  const box = document.querySelector(".conclusion");
  const [test, plan] = [...box.children].filter((x) => x.tagName === "P").slice(-2);
  for (const old of box.querySelectorAll(".caution")) old.remove();
  return causes.map((cause) => {
    box.querySelector("h3").textContent = cause.line;
    test.lastChild.textContent = cause.test;
    plan.textContent = cause.plan;
    const caution = document.createElement("section");
    caution.className = "caution";
    for (const says of ["CAUTION", ...cause.cautions]) {
      const line = document.createElement(says === "CAUTION" ? "b" : "p");
      line.textContent = says;
      caution.append(line);
    }
    if (cause.cautions.length) box.querySelector("h3").after(caution);
    const { height } = box.getBoundingClientRect();
    caution.remove();
    return [cause.id, height];
  });
}"""


def shown() -> list[dict[str, Any]]:
    """What a conclusion says of its leading cause, for every cause."""
    session = begun("ghost_opening")
    ranked = summarise(reasoner(), session, conclude(reasoner(), session)).ranked[0]
    suspects = [suspect_of(knowledge(), 1, replace(ranked, cause=cause)) for cause in knowledge().causes.values()]
    return [
        {
            "id": each.cause,
            "line": f"1. {each.says} - {each.likely}",
            "test": each.test,
            "plan": each.plan,
            "cautions": [c.says for c in each.test_cautions.special],
        }
        for each in suspects
    ]


def test_the_conclusion_of_a_visit_fits(browser: Browser, whole_page: Path) -> None:
    tab = opened(browser, whole_page)
    tab.set_viewport_size({"width": 360, "height": SCREEN})
    begin(tab, "ghost_opening", ["laser"])
    for _ in range(5):
        answer(tab, None)
    tab.click("text=Conclude now")
    assert tab.evaluate(HEIGHT) <= SCREEN
    tab.evaluate("document.querySelector('#top').scrollIntoView()")
    assert not tab.evaluate("document.documentElement.scrollWidth > 360")


def test_it_fits_whichever_cause_leads(browser: Browser, whole_page: Path) -> None:
    tab = opened(browser, whole_page)
    begin(tab, "ghost_opening", ["laser"])
    tab.click("text=Conclude now")
    heights = dict(tab.evaluate(WITH_CAUSE, shown()))
    assert {cause: height for cause, height in heights.items() if height > SCREEN} == {}
