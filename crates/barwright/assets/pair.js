// The QR code carries the pairing code behind the #, which browsers send nowhere: it goes into the field from here.
const code = document.getElementById("code");
const given = decodeURIComponent(location.hash.slice(1));
if (code && given) {
  code.value = given;
  history.replaceState(null, "", location.pathname);
  document.getElementById("name")?.focus();
}
