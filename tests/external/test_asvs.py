"""OWASP ASVS 5.0.0, what of it applies to the page, and which test holds it.

Source: OWASP Application Security Verification Standard 5.0.0, the table in English of
github.com/OWASP/ASVS, folder 5.0/docs_en, read on 2026-11-26; the texts here are short paraphrases.
Every requirement of levels 1 and 2 of the chapters that concern a page like this one stands here
(V3 frontend, V4 service, V5 files, V7 sessions, V8 authorization, V12 communication, V13.4, V14.2,
V14.3, V16), with those of V6 for codes that pair, and a few of level 3. Left out as a whole: V1 and
V15 (the code, by review and linters), V2 (values: the tests of fields), V6.2 (there are no
passwords), V9, V10, V17 (no such tokens, no OAuth, no WebRTC), V11 (tests of the authority).
"""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from recorder.web.access import limits
from recorder.web.access.access import IDLE, INVITED_FOR, LONGEST
from recorder.web.access.devices import MOST_DEVICES
from recorder.web.knowhow.files import LARGEST_BYTES

TESTS = Path(__file__).parents[1]
ROOT = TESTS.parent

G, P, W = "web/access/test_guard.py", "web/access/test_pairing.py", "web/access/test_walk.py"
WIRE, LAN, SERVE = (
    "web/access/test_wire.py", "web/access/test_lan.py", "web/access/test_serving.py",
)  # fmt: skip
SEEN, FILES, CA = (
    "web/access/test_in_browser.py", "web/access/test_uploads.py",
    "external/test_local_authority.py",
)  # fmt: skip
LISTS = "web/knowhow/test_inventory_page.py"
HERE = "external/test_asvs.py"
HEADERS = f"{G}::test_every_answer_bears_the_headers"
UNPAIRED = f"{W}::test_an_unpaired_device_sees_and_changes_nothing"
ODD = f"{W}::test_no_name_in_an_address_leads_astray"
HOSTILE = f"{SEEN}::test_a_hostile_page_beside_a_paired_one_gets_nothing"
COOKIE = f"{P}::test_pairing_by_the_page"
ONCE = f"{P}::test_an_invitation_is_good_for_one_device"
OUT = f"{W}::test_a_device_that_is_out_sees_and_changes_nothing"
SECRETS = f"{P}::test_secrets_are_long_and_each_is_another"
TOLD = f"{G}::test_refusals_are_told_once_a_minute_with_their_number"
FAILED = f"{G}::test_a_failure_tells_nothing_of_the_inside"
CLOSED = f"{P}::test_a_damaged_list_lets_nobody_in"
DOCUMENTED = f"{HERE}::test_the_limits_are_documented"
STATIC = f"{W}::test_static_files_are_those_of_the_program_alone"
PAGE = "web/pages/test_rendering.py::test_everything_is_escaped"

# Requirement: what it wants, and the tests that fail when it is not so.
HELD: dict[str, tuple[str, tuple[str, ...]]] = {
    "3.2.1": ("nothing is shown as what it is not", (HEADERS, HOSTILE)),
    "3.2.2": ("text is shown as text", (PAGE, f"{P}::test_hostile_names_are_text")),
    "3.3.1": ("cookies are Secure, with a prefix", (COOKIE,)),
    "3.3.2": ("cookies have the SameSite that fits", (COOKIE, HOSTILE)),
    "3.3.3": ("cookies are of this host alone", (COOKIE,)),
    "3.3.4": ("no script reads the session", (
        f"{SEEN}::test_a_browser_pairs_itself_by_the_address",
    )),
    "3.4.2": ("no other origin is allowed to read", (HEADERS,)),
    "3.4.3": ("a content policy with object-src and base-uri none", (HEADERS,)),
    "3.4.4": ("no sniffing", (HEADERS,)),
    "3.4.5": ("no address leaks as a referrer", (HEADERS,)),
    "3.4.6": ("no page is framed", (HEADERS, HOSTILE)),
    "3.4.8": ("windows of others are cut off (level 3)", (HEADERS,)),
    "3.5.1": ("requests are proven to be our own page's", (
        f"{G}::test_the_seal_comes_as_header_or_in_a_form",
        f"{W}::test_nothing_changes_without_the_seal", HOSTILE,
    )),
    "3.5.2": ("no reliance on preflight", (
        f"{G}::test_a_page_of_another_place_is_refused", HOSTILE,
    )),
    "3.5.3": ("no change by GET", (f"{W}::test_nothing_changes_by_get",)),
    "3.5.8": ("nothing is embedded elsewhere (level 3)", (
        f"{G}::test_what_the_browser_says_of_the_sender_counts", HOSTILE,
    )),
    "3.7.2": ("no redirect leads elsewhere", (f"{HERE}::test_redirects_stay_here",)),
    "4.1.1": ("content types with their charset", (f"{HERE}::test_texts_tell_their_charset",)),
    "4.1.2": ("no silent redirect from http to https", (
        f"{LAN}::test_a_phone_that_trusts_the_authority_reaches_the_page",
    )),
    "4.1.3": ("headers of proxies are not believed", (
        f"{WIRE}::test_headers_for_proxies_change_nothing",
    )),
    "4.1.4": ("unused methods are blocked (level 3)", (f"{G}::test_other_methods_are_refused",)),
    "4.2.1": ("one way to find the end of a request", (
        f"{WIRE}::test_no_second_request_hides_in_a_body",
    )),
    "4.4.1": ("sockets over TLS, but on this machine itself", (
        f"{G}::test_the_network_has_no_plain_http_and_this_machine_no_other_name",
    )),
    "4.4.2": ("the origin of a socket is checked", (
        f"{WIRE}::test_a_socket_is_for_a_paired_device_and_its_own_page", HOSTILE,
    )),
    "5.1.1": ("types and sizes of uploads are documented", (DOCUMENTED,)),
    "5.2.1": ("sizes are limited", (
        f"{G}::test_a_body_is_held_to_its_limit_whatever_its_head_says",
        f"{W}::test_no_route_takes_more_than_its_limit",
        f"{LISTS}::test_no_larger_body_passes_the_guard",
    )),
    "5.2.2": ("a file is what it says", (
        f"{FILES}::test_what_is_no_picture_is_refused",
        f"{LISTS}::test_a_wrong_file_is_refused_by_name_and_nothing_of_it_is_kept",
    )),
    "5.2.6": ("pixels are limited (level 3)", (
        f"{FILES}::test_a_picture_of_145_megapixels_is_refused_unopened",
    )),
    "5.3.1": ("nothing that was sent is run", (STATIC, UNPAIRED)),
    "5.3.2": ("no name of a sender becomes a path", (
        ODD, f"{FILES}::test_an_upload_is_for_its_owner_alone_and_gone_afterwards",
        f"{LISTS}::test_a_wrong_file_is_refused_by_name_and_nothing_of_it_is_kept",
    )),
    "5.4.1": ("names of downloads are ours", (
        ODD, "web/jobs/test_report_page.py::test_a_whole_signing_from_no_report_to_the_customers",
    )),
    "6.1.1": ("limits on guesses are documented", (DOCUMENTED,)),
    "6.1.3": ("all ways in are documented", (DOCUMENTED, UNPAIRED)),
    "6.3.1": ("guesses are limited", (
        f"{P}::test_a_code_is_not_guessed_by_trying",
        f"{P}::test_guesses_are_counted_by_address_and_the_count_ends",
    )),
    "6.3.4": ("no undocumented way in", (UNPAIRED, f"{W}::test_what_is_open_tells_of_no_job")),
    "6.3.8": ("failures tell nothing of what exists (level 3)", (
        f"{W}::test_nobody_learns_whether_a_job_exists",
    )),
    "6.4.1": ("codes are random, short-lived, and no lasting secret", (
        SECRETS, ONCE, f"{P}::test_an_invitation_ends_after_five_minutes",
    )),
    "6.5.1": ("a code works once", (ONCE, f"{SEEN}::test_a_code_that_was_used_is_told")),
    "6.5.2": ("secrets are kept as digests", (
        f"{P}::test_the_disk_holds_no_secret_and_is_for_its_owner_alone",
    )),
    "6.5.3": ("codes are of a secure generator", (SECRETS,)),
    "6.5.4": ("codes are long enough", (SECRETS,)),
    "6.5.5": ("codes end within ten minutes", (
        f"{P}::test_an_invitation_ends_after_five_minutes",
    )),
    "6.5.6": ("a lost device is revoked (level 3)", (OUT,)),
    "6.6.3": ("codes withstand guessing", (f"{P}::test_a_code_is_not_guessed_by_trying",)),
    "7.1.1": ("lifetimes of sessions are documented", (DOCUMENTED,)),
    "7.1.2": ("how many sessions there may be is documented", (
        DOCUMENTED, f"{P}::test_there_is_an_end_to_devices_and_invitations",
    )),
    "7.2.1": ("sessions are checked here and not in the page", (OUT,)),
    "7.2.2": ("session secrets are made for each", (SECRETS,)),
    "7.2.3": ("session secrets have 128 bits and more", (SECRETS,)),
    "7.2.4": ("pairing anew ends the session before", (
        f"{P}::test_a_device_that_pairs_itself_anew_is_replaced",
    )),
    "7.3.1": ("an end without use", (
        f"{P}::test_a_device_is_forgotten_when_it_was_not_used_and_at_the_latest",
    )),
    "7.3.2": ("an end in any case", (
        f"{P}::test_a_device_is_forgotten_when_it_was_not_used_and_at_the_latest",
    )),
    "7.4.1": ("an ended session is of no use", (
        OUT, f"{P}::test_a_device_can_go_by_itself",
        f"{SEEN}::test_revoking_ends_an_open_page",
    )),
    "7.4.2": ("a revoked device has nothing open", (
        f"{G}::test_revoking_closes_an_open_socket", f"{SEEN}::test_revoking_ends_an_open_page",
    )),
    "7.4.4": ("leaving is easy to find", (f"{P}::test_a_device_can_go_by_itself",)),
    "7.4.5": ("who runs it ends any session", (
        f"{SERVE}::test_it_pairs_lists_and_revokes_also_by_command",
        f"{P}::test_a_revoked_device_is_out_also_for_another_process",
    )),
    "7.6.2": ("no session without an act of a person", (
        f"{SEEN}::test_a_browser_pairs_itself_by_the_address",
    )),
    "8.1.1": ("who may do what is documented", (DOCUMENTED,)),
    "8.2.1": ("functions are for paired devices", (UNPAIRED, OUT)),
    "8.2.2": ("data are for paired devices", (UNPAIRED, ODD)),
    "8.3.1": ("rules are enforced by the server", (UNPAIRED,)),
    "8.3.2": ("changes count at once (level 3)", (f"{G}::test_revoking_closes_an_open_socket",)),
    "12.1.1": ("TLS 1.2 and newer", (f"{LAN}::test_old_versions_of_tls_are_refused",)),
    "12.1.2": ("ciphers with forward secrecy", (f"{HERE}::test_ciphers_have_forward_secrecy",)),
    "12.2.1": ("nothing falls back to http", (
        f"{LAN}::test_a_phone_that_trusts_the_authority_reaches_the_page",
        f"{LAN}::test_the_guide_shows_the_authority_and_nothing_else",
    )),
    "13.4.1": ("no source control is served", (STATIC,)),
    "13.4.2": ("no debug mode", (FAILED, f"{HERE}::test_no_debug_mode")),
    "13.4.3": ("no lists of folders", (STATIC,)),
    "13.4.4": ("no TRACE", (f"{G}::test_other_methods_are_refused",)),
    "13.4.5": ("nothing is served but what is meant to be", (
        f"{W}::test_the_walk_knows_all_that_there_is",
    )),
    "13.4.6": ("no versions of components are told (level 3)", (HEADERS,)),
    "14.2.1": ("no secret in an address", (f"{SEEN}::test_a_browser_pairs_itself_by_the_address",)),
    "14.2.2": ("nothing is cached on the way", (HEADERS,)),
    "14.2.3": ("nothing goes to others", (HEADERS,)),
    "14.3.2": ("browsers keep no page", (HEADERS,)),
    "16.1.1": ("what is logged is documented", (DOCUMENTED,)),
    "16.2.1": ("entries tell when and what", (
        f"{SERVE}::test_it_pairs_lists_and_revokes_also_by_command",
    )),
    "16.2.2": ("times tell their zone", (
        f"{SERVE}::test_it_pairs_lists_and_revokes_also_by_command",
    )),
    "16.2.3": ("the log goes to its documented place alone", (DOCUMENTED,)),
    "16.2.5": ("no secret is logged", (COOKIE,)),
    "16.3.1": ("pairing is logged, also when it fails", (COOKIE,)),
    "16.3.2": ("refusals are logged", (TOLD,)),
    "16.3.3": ("attempts to get around are logged", (TOLD, HOSTILE)),
    "16.3.4": ("what nobody foresaw is logged", (
        f"{SERVE}::test_what_nobody_foresaw_is_told_in_a_line",
    )),
    "16.4.1": ("nothing of a sender forges a line", (
        TOLD, f"{SERVE}::test_what_nobody_foresaw_is_told_in_a_line",
    )),
    "16.5.1": ("failures tell nothing of the inside", (FAILED,)),
    "16.5.2": ("a resource that fails opens nothing", (
        CLOSED, f"{P}::test_a_full_disk_shuts_nobody_out",
    )),
    "16.5.3": ("it fails closed", (CLOSED,)),
    "16.5.4": ("a last handler catches all (level 3)", (FAILED,)),
}  # fmt: skip

# Requirement: why it does not apply, or is left undone on purpose.
OTHERWISE = {
    "3.4.1": "no HSTS: it would count for every port of the name, also for the guide to trust, "
    "which must be http; on the network the page itself is https alone",
    "3.5.4": "the port of this machine is not ours to choose alone: pages of other ports are "
    "refused by Origin and Sec-Fetch-Site, and the cookie bears the port in its name",
    "3.5.5": "no postMessage is used but between the page and its own worklet",
    "3.7.1": "only HTML, CSS and modules are used",
    "4.3.1": "no GraphQL",
    "4.3.2": "no GraphQL",
    "4.4.3": "sockets use the session of the page",
    "4.4.4": "sockets use the session of the page",
    "5.2.3": "no archives are taken by the page",
    "5.4.2": "names of downloads are made of the job's id",
    "5.4.3": "no virus scanner: pictures are shown as they were drawn anew, and originals are kept "
    "byte for byte as evidence",
    "6.3.2": "there are no accounts",
    "6.3.3": "one factor, the paired device: who holds it stands beside the machine, or was let in "
    "by someone who did; signing needs the passphrase at the start besides",
    "6.6.2": "a code is bound to no request: whoever scans it within five minutes pairs, once, and "
    "stands in the list",
    "7.1.3": "no federation",
    "7.4.3": "there is no password to change; each device is revoked by itself",
    "7.5.1": "there are no accounts whose attributes could change",
    "7.5.2": "devices are seen and revoked without a second factor: locking one out must be quick, "
    "and pairing it again is",
    "7.6.1": "no federation",
    "8.1.2": "no field is for some devices alone",
    "8.2.3": "no field is for some devices alone",
    "8.4.1": "one home, one firm",
    "12.1.3": "no client certificates",
    "12.2.2": "no public authority may certify a private address; hence the local one, which can "
    "vouch for nothing else",
    "12.3.1": "no services behind it",
    "12.3.2": "it is no TLS client, but for the stamp of time, which is signed",
    "12.3.3": "no services behind it",
    "12.3.4": "no services behind it",
    "14.2.4": "levels of protection are those of the archive: README, 'Keep it safe'",
    "14.3.1": "sound that was not yet sent stays in the browser until it is: a second that was "
    "recorded is not thrown away because a device was revoked; pages are not kept",
    "14.3.3": "as 14.3.1: only sound that was not yet sent",
    "16.2.4": "the log is a line for a person, on standard error",
    "16.4.2": "the log is the terminal's, or the service manager's",
    "16.4.3": "the log is the terminal's, or the service manager's",
}

# All of levels 1 and 2 of the chapters named above, by section: how many there are of each.
LEVELS_1_AND_2 = {
    "3.2": "12", "3.3": "1234", "3.4": "123456", "3.5": "12345", "3.7": "12", "4.1": "123",
    "4.2": "1", "4.3": "12", "4.4": "1234", "5.1": "1", "5.2": "123", "5.3": "12", "5.4": "123",
    "6.5": "12345", "7.1": "123", "7.2": "1234", "7.3": "12", "7.4": "12345", "7.5": "12",
    "7.6": "12", "8.1": "12", "8.2": "123", "8.3": "1", "8.4": "1", "12.1": "123", "12.2": "12",
    "12.3": "1234", "13.4": "12345", "14.2": "1234", "14.3": "123", "16.1": "1", "16.2": "12345",
    "16.3": "1234", "16.4": "123", "16.5": "123",
}  # fmt: skip


def test_every_requirement_is_held_or_its_absence_explained() -> None:
    wanted = {f"{section}.{n}" for section, numbers in LEVELS_1_AND_2.items() for n in numbers}
    assert wanted <= HELD.keys() | OTHERWISE.keys()
    assert HELD.keys() & OTHERWISE.keys() == set()


@pytest.mark.parametrize("requirement", HELD)
def test_what_holds_it_is_there(requirement: str) -> None:
    text, tests = HELD[requirement]
    assert text
    assert tests
    for each in tests:
        path, _, name = each.partition("::")
        tree = ast.parse((TESTS / path).read_text(encoding="utf-8"))
        kinds = ast.FunctionDef | ast.AsyncFunctionDef
        names = {node.name for node in tree.body if isinstance(node, kinds)}
        assert name in names, each


def test_the_guide_for_contributors_names_what_is_left_undone() -> None:
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    told = set(re.findall(r"\b\d{1,2}\.\d\.\d\b", guide))
    assert {"3.4.1", "5.4.3", "6.3.3", "7.5.2", "12.2.2", "14.3.1"} <= told & OTHERWISE.keys()


def test_the_limits_are_documented() -> None:
    readme = " ".join((ROOT / "README.md").read_text(encoding="utf-8").split())
    assert INVITED_FOR.total_seconds() == 5 * 60
    assert "for five minutes" in readme
    assert f"not used for {IDLE.days} days" in readme
    assert f"{LONGEST.days} days at most" in readme
    assert f"at most {MOST_DEVICES} devices" in readme
    assert "can do everything that the page offers" in readme
    assert "ten pairing codes a minute" in readme
    assert "written to standard error" in readme
    photo, drawing = limits.largest("/live/x/photo"), limits.largest("/jobs/x/sign/customer")
    assert f"at most {photo // 1024**2} MB and 64 megapixels" in readme
    assert f"at most {drawing // 1024**2} MB" in readme
    assert f"a list of the firm at most {LARGEST_BYTES // 1024**2} MB" in readme


def test_redirects_stay_here() -> None:
    """No address to go on to is made of what a sender says."""
    for path in (ROOT / "recorder" / "web").rglob("*.py"):
        for found in re.findall(r"RedirectResponse\(([^,)]*)", path.read_text(encoding="utf-8")):
            assert re.match(r'f?"/|PAIRING|address$', found.strip()), f"{path.name}: {found}"


def test_texts_tell_their_charset() -> None:
    from starlette.responses import HTMLResponse, PlainTextResponse

    for kind in (HTMLResponse, PlainTextResponse):
        assert kind("x").headers["content-type"].endswith("charset=utf-8")


def test_ciphers_have_forward_secrecy(tmp_path: Path) -> None:
    from recorder.web.lan import tls_context

    offered = tls_context().get_ciphers()
    assert offered
    assert {each["kea"] for each in offered} <= {"kx-ecdhe", "kx-dhe", "kx-any"}
    assert {each["symmetric"] for each in offered if "cbc" in str(each["symmetric"])} == set()


def test_no_debug_mode() -> None:
    source = (ROOT / "recorder" / "web" / "app.py").read_text(encoding="utf-8")
    assert "debug" not in source
