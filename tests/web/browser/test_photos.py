"""A picture taken and looked at on a phone of 360 pixels."""

from playwright.sync_api import Page, expect

from diagnose.session.photos import shown
from tests.store.pictured import picture
from tests.web.browser.person import answer, begin
from tests.web.browser.served import Site
from tests.web.browser.test_pages import findings, overflow, small_targets


def add_picture(page: Page, says: str) -> None:
    page.get_by_text("Add a picture").first.click()
    form = page.locator("details.picture form").first
    camera = form.locator("input[type=file]")
    assert camera.get_attribute("accept") == "image/*" and camera.get_attribute("capture") == "environment"
    camera.set_input_files({"name": "IMG_1.jpg", "mimeType": "image/jpeg", "buffer": picture((1200, 1600))})
    form.locator("input[name=says]").fill(says)
    form.get_by_role("button", name="Keep the picture").click()


def test_a_picture_of_the_last_answer_on_a_phone(page: Page, site: Site) -> None:
    name = begin(page, "ghost_opening", sensors=["laser"])
    answer(page, "nobody")
    page.get_by_text("Add a picture").first.click()
    assert (list(findings(page)), overflow(page), small_targets(page)) == ([], 0, [])
    page.reload()
    add_picture(page, "W" * 200)
    photo = page.locator(".photo img")
    expect(photo).to_have_js_property("complete", True)
    photo.scroll_into_view_if_needed()
    expect(photo).to_have_js_property("naturalHeight", 1600)
    assert (list(findings(page)), overflow(page), small_targets(page)) == ([], 0, [])
    assert [(p.of, p.which) for p in shown(site.session(name))] == [("answer", "anyone_touched")]
    page.goto(f"/visit/{name}/answers")
    assert overflow(page) == 0 and small_targets(page) == [] and page.locator(".photo img").count() == 1
    page.goto(f"/visit/{name}/record/full.html")
    expect(page.locator("figure img")).to_have_js_property("naturalHeight", 800)
    assert overflow(page) == 0
