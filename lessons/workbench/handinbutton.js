// The button at the end of a lesson: save the page, then pack it.
// The kernel notes the file as it is, the page saves, and the kernel packs once the file is new.

function savePage(element) {
  const panel = element.closest(".jp-NotebookPanel");
  const button = panel && panel.querySelector('[data-command="docmanager:save"]');
  if (!button) return false;
  for (const kind of ["mousedown", "mouseup", "click"]) {
    button.dispatchEvent(new MouseEvent(kind, { bubbles: true, button: 0 }));
  }
  return true;
}

function render({ model, el }) {
  el.classList.add("hs-handin");
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = model.get("label");
  const said = document.createElement("div");
  said.setAttribute("role", "status");
  el.replaceChildren(button, said);

  const draw = () => {
    const { lines = [], busy = false } = model.get("said");
    button.disabled = busy;
    said.replaceChildren(
      ...lines.map((line) => {
        const row = document.createElement("p");
        row.textContent = line;
        return row;
      }),
    );
  };
  const packWhenNoted = () => {
    if (model.get("noted") > 0) model.send({ pack: true, saved: savePage(el) });
  };
  button.addEventListener("click", () => model.send({ note: true }));
  model.on("change:said", draw);
  model.on("change:noted", packWhenNoted);
  draw();
  return () => {
    model.off("change:said", draw);
    model.off("change:noted", packWhenNoted);
  };
}

export default { render };
