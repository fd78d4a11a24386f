"""Reading aloud: by a voice of the device, in the order of the page; without a voice there is no button."""

from __future__ import annotations

from playwright.sync_api import Page

from tests.browser.conftest import Served

# The tests' browser has no voice. Here it is given one that writes down what it is told to say.
VOICED = """
const said = [];
window.said = said;
window.SpeechSynthesisUtterance = class { constructor(text) { this.text = text; } };
const voice = {lang: "en-US", localService: %s, name: "test"};
Object.defineProperty(window, "speechSynthesis", {value: {
  getVoices: () => [voice], speak: (one) => said.push(one.text), cancel: () => said.push("STOP"),
  addEventListener: () => {},
}});
"""


def test_without_a_voice_there_is_no_button(served: Served, page390: Page) -> None:
    page390.goto(f"{served.address}/today")
    assert page390.evaluate("speechSynthesis.getVoices().length") == 0
    assert not page390.locator("#aloud").is_visible()


def test_a_voice_that_needs_the_network_is_no_voice(served: Served, page390: Page) -> None:
    page390.add_init_script(VOICED % "false")
    page390.goto(f"{served.address}/today")
    assert not page390.locator("#aloud").is_visible()


def test_today_is_read_from_top_to_bottom_and_stops(served: Served, page390: Page) -> None:
    page390.add_init_script(VOICED % "true")
    page390.goto(f"{served.address}/today")
    page390.get_by_role("button", name="Read it aloud").click()
    said = page390.evaluate("said")
    assert said[0].startswith("Wed 10 Jun")
    limit = next(n for n, text in enumerate(said) if "regrowth bitten again" in text)
    care = next(n for n, text in enumerate(said) if "Energiser off" in text)
    assert 0 < limit < care
    assert not any("Read it aloud" in text for text in said)
    assert not any("asks for" in text for text in said), "what is folded away stays silent"
    page390.get_by_role("button", name="Stop reading").click()
    assert page390.evaluate("said.at(-1)") == "STOP"


def test_a_typed_command_is_read_back_before_it_is_kept(own: Served, page390: Page) -> None:
    page390.add_init_script(VOICED % "true")
    page390.goto(f"{own.address}/enter")
    page390.get_by_label("Type or speak it").fill("shut 4 because cherry down until cleared")
    page390.get_by_role("button", name="Read it back").click()
    page390.wait_for_load_state("load")
    page390.get_by_role("button", name="Read it aloud").click()
    assert any("cherry down" in text for text in page390.evaluate("said"))
    page390.get_by_role("button", name="Keep it").click()
    page390.wait_for_load_state("load")
    assert "Kept: shut - Well: because cherry down" in page390.inner_text("main")
