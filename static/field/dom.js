// Elements from names, attributes and children; text stays text.

export function h(name, attributes = {}, ...children) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else if (key === "value") element.value = value;
    else if (value === true) element.setAttribute(key, "");
    else if (value !== false && value !== null && value !== undefined) element.setAttribute(key, value);
  }
  element.append(...children.flat(9).filter((child) => child !== null && child !== undefined && child !== false && child !== ""));
  return element;
}

export const badge = (kind, words) => h("span", { class: `badge ${kind}` }, words);
export const phone = (number) => h("a", { class: "phone", href: `tel:${number}` }, number);

/** A named field: its label, a hint, the control. */
export function part(id, words, control, hint = "") {
  control.id = id;
  if (hint) control.setAttribute("aria-describedby", `${id}-hint`);
  return h("div", { class: "part" }, h("label", { for: id }, words), hint && h("span", { class: "hint", id: `${id}-hint` }, hint), control);
}

/** A list to choose from; the first choice says that nothing is chosen. */
export const choice = (value, blank, options, onchange) =>
  h("select", { onchange: (e) => onchange(e.target.value) },
    h("option", { value: "" }, blank),
    options.map(([code, words]) => h("option", { value: code, selected: code === value }, words)));
