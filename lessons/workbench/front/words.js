// What the page says, in the language that the kernel sends words of. English is in the code.
//   t("Step {n}", { n })                a sentence with what stands in its places
//   tn("{n} step", "{n} steps", n)      one that counts
//   weave(text, { what: element })       a sentence with elements in its places, as a list of pieces
//   msg("Diagram")                      marked for the catalogue, said later with t

let spoken = { language: "en", words: {} };

// Said by a bench before it draws: two benches on a page may differ.
export function speak(speech) {
  spoken = speech || { language: "en", words: {} };
}

export function language() {
  return spoken.language;
}

export function msg(text) {
  return text;
}

function looked(text) {
  const said = spoken.words[text];
  return typeof said === "string" ? said : text;
}

function filled(text, values) {
  return values ? text.replace(/\{(\w+)\}/g, (place, name) => (name in values ? values[name] : place)) : text;
}

export function t(text, values) {
  return filled(looked(text), values);
}

export function tn(one, many, n, values) {
  const forms = spoken.words[one];
  const form = n === 1 ? 0 : 1;
  const text = Array.isArray(forms) ? forms[Math.min(form, forms.length - 1)] : [one, many][form];
  return filled(text, { n, ...values });
}

export function weave(text, values) {
  return looked(text)
    .split(/(\{\w+\})/)
    .map((piece) => {
      const name = piece.startsWith("{") && piece.endsWith("}") ? piece.slice(1, -1) : "";
      return name in values ? values[name] : piece;
    });
}
