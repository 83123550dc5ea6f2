// The pairing code comes behind '#', which no browser sends anywhere. It goes into the form and out
// of the address, so that neither the history nor a shoulder keeps it.

const code = decodeURIComponent(location.hash.slice(1));
if (/^[a-z2-7]{32}$/.test(code)) {
  history.replaceState(null, "", location.pathname);
  document.getElementById("code").value = code;
  document.getElementById("typed").hidden = true;
  document.getElementById("ready").hidden = false;
}
