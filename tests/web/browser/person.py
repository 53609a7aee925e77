"""What a person does with the pages: reads, taps, types. Answers come by the question's own id."""

from collections.abc import Mapping, Sequence

from playwright.sync_api import Locator, Page, expect

from tests.shipped import knowledge

MOST_QUESTIONS = 60
ASKED = "form.answer input[name=check]"


def begin(page: Page, complaint: str, role: str = "technician", sensors: Sequence[str] = (), site: str = "") -> str:
    """A new visit through the opening form; its name."""
    page.goto("/start")
    page.check(f"input[name=role][value={role}]")
    for sensor in sensors:
        page.check(f"input[name=sensor][value={sensor}]")
    page.check(f"input[name=complaint][value={complaint}]")
    page.fill("#site", site)
    tap(page.locator("button[value=begin]"))
    return page.url.rsplit("/", 1)[-1]


def asked(page: Page) -> str:
    """The id of the check that is asked now, '' when nothing is. This person takes looks one at a time."""
    singly = page.locator("a.singly")
    if singly.count():
        tap(singly)
    shown = page.locator(ASKED)
    return shown.first.input_value() if shown.count() else ""


def tap(control: Locator) -> None:
    """Tap what sends a form, and wait for the page that follows."""
    with control.page.expect_navigation():
        control.click()


def answer(page: Page, value: str) -> None:
    """Answer the question on the page: tap an option, or type a reading and send it."""
    if page.locator("#reading").count() and value not in ("dont_know", "cant_check", "skip"):
        page.fill("#reading", value)
        tap(page.locator("form.answer button.strong"))
    else:
        tap(page.locator(f"button[name=answer][value={value}]"))


def answer_all(page: Page, answers: Mapping[str, str], stop_at: str = "") -> list[str]:
    """Answer until nothing is asked any more, or `stop_at` is; what is not in `answers` is not known."""
    done: list[str] = []
    while (check := asked(page)) and check != stop_at:
        assert len(done) < MOST_QUESTIONS, done
        answer(page, answers.get(check, "dont_know"))
        done.append(check)
    return done


def press(page: Page, label: str) -> None:
    tap(page.get_by_role("button", name=label).first)


def do(page: Page, step: str, **fields: str) -> None:
    """Send the form of a step (`back`, `conclude`, `close`, ...), the one with the given hidden values."""
    hidden = {"do": step, **fields}
    form = "form" + "".join(f":has(input[name={name}][value={value}])" for name, value in hidden.items())
    tap(page.locator(f"{form} button:visible").first)


def tick_all(page: Page, result: str = "pass") -> int:
    """Tick off every open line of the return to service; how many there were."""
    count = 0
    while (line := page.locator("form.line.open")).count():
        line.first.locator("input[name=reading]").fill("seen with a test piece, 24 V")
        tap(line.first.locator(f"button[value={result}]"))
        count += 1
        assert count < MOST_QUESTIONS
    return count


def heading(page: Page) -> str:
    return page.locator("h1").inner_text()


def expect_heading(page: Page, text: str) -> None:
    expect(page.locator("h1")).to_contain_text(text)


def says_of(cause: str) -> str:
    return knowledge().causes[cause].says
