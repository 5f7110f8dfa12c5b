/* A link that brings the state back. It works from a file on disk: nothing is sent anywhere. */

/** Build the link's box and its button. */
function buildShare(page) {
  const link = el("input", { type: "text", class: "link", id: "link", readonly: true, "aria-label": "Link to this state" });
  const button = el("button", { type: "button", id: "copy" }, "Copy link");
  const said = el("p", { class: "quiet", id: "copied", role: "status" });
  button.addEventListener("click", () => copyLink(link, said));
  link.addEventListener("focus", () => link.select());
  byId("share-controls").append(
    el("p", { class: "quiet" }, "The link holds the sliders, the load case, the masts and the units. It opens this same file. For somebody else, send the file along: the part of the link from # on, put after the address of their copy, opens it in this state."),
    el("div", { class: "row" }, link, button), said,
  );
  return { refresh: () => keepInAddress(page, link) };
}

/** The state in the address bar and in the box; a reload, or the link, brings it back. */
function keepInAddress(page, link) {
  const hash = stateToHash(page.data, page.state);
  const address = `${location.href.split("#")[0]}${hash ? `#${hash}` : ""}`;
  link.value = address;
  page.hash = hash ? `#${hash}` : "";
  try {
    history.replaceState(null, "", address);
  } catch {
    // Some browsers refuse this for files: the link in the box still holds the state.
  }
}

/** Copy by the browser's own way, else by the old one, else say how to do it by hand. */
async function copyLink(link, said) {
  let done = false;
  try {
    await navigator.clipboard.writeText(link.value);
    done = true;
  } catch {
    link.focus();
    link.select();
    try {
      done = document.execCommand("copy");
    } catch {
      done = false;
    }
  }
  said.textContent = done ? "Copied." : "The browser does not allow copying: the link is marked, copy it with the keyboard or a long press.";
}
