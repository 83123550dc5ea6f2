"""A time stamp over a signature from an authority on the network (RFC 3161, over HTTP by 3.4)."""

from __future__ import annotations

import hashlib
import secrets
import threading
import urllib.error
import urllib.request

from asn1crypto import algos, cms, core, tsp

from recorder.report.signing.revision import LARGEST_STAMP

PATIENCE_S = 5.0  # for name, connection and answer together: nobody waits on site for a clock
_QUERY, _REPLY = "application/timestamp-query", "application/timestamp-reply"


class _Response(core.Sequence):  # type: ignore[misc]
    """RFC 3161, 2.4.2; that of asn1crypto wants a token in a refusal too."""

    _fields = [
        ("status", tsp.PKIStatusInfo),
        ("token", cms.ContentInfo, {"optional": True}),
    ]


class NoStamp(Exception):
    """No authority stamped the time; the reason in words."""


def stamped(url: str, signature_value: bytes, patience_s: float = PATIENCE_S) -> bytes:
    """A token over the value of a signature, DER. Raises NoStamp, at the latest after the patience.

    The token answers this request; whether its own signature holds is for
    ``recorder.report.verifying``.
    """
    digest, nonce = hashlib.sha256(signature_value).digest(), secrets.randbits(63)
    request = tsp.TimeStampReq(
        {
            "version": "v1",
            "message_imprint": tsp.MessageImprint(
                {
                    "hash_algorithm": algos.DigestAlgorithm({"algorithm": "sha256"}),
                    "hashed_message": digest,
                }
            ),
            "nonce": nonce,
            "cert_req": True,
        }
    )
    answer = _answer(url, bytes(request.dump()), patience_s)
    try:
        return _token(_Response.load(answer, strict=True), digest, nonce)
    except NoStamp:
        raise
    except Exception as error:  # any bytes can come from the network
        raise NoStamp("its answer is no time stamp") from error


def _token(response: _Response, digest: bytes, nonce: int) -> bytes:
    status = response["status"]
    if status["status"].native not in ("granted", "granted_with_mods"):
        words = " ".join(" ".join(status["status_string"].native or ()).split())[:200]
        raise NoStamp(f"it refused: {words or status['status'].native}")
    token = response["token"]
    told = token["content"]["encap_content_info"]["content"].parsed
    if told["message_imprint"]["hashed_message"].native != digest or told["nonce"].native != nonce:
        raise NoStamp("it answered to something else")
    der = bytes(token.dump())
    if len(der) > LARGEST_STAMP:
        raise NoStamp(f"its time stamp has more than {LARGEST_STAMP} bytes")
    return der


def _answer(url: str, query: bytes, patience_s: float) -> bytes:
    """By a thread that is left behind when it is late: no timeout of a socket covers the look-up of
    a name, nor a server that sends a byte now and then.
    """
    got: list[bytes] = []
    failed: list[str] = []

    def ask() -> None:  # the settings let only http and https through
        try:
            headers = {"Content-Type": _QUERY, "Accept": _REPLY}
            request = urllib.request.Request(url, query, headers)
            with urllib.request.urlopen(request, timeout=patience_s) as reply:
                got.append(reply.read(2 * LARGEST_STAMP))
        except urllib.error.URLError as error:
            failed.append(str(error.reason))
        except Exception as error:  # of http.client and the codecs
            failed.append(str(error) or type(error).__name__)

    thread = threading.Thread(target=ask, daemon=True)
    thread.start()
    thread.join(patience_s)
    if not got:
        raise NoStamp(failed[0] if failed else f"no answer within {patience_s:g} s")
    return got[0]
