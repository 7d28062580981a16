// Elements of a page, found by what they are: a template that lost one is named at once, and the checker knows its kind.

/**
 * The element with this id. It throws where the page has none, or one of another kind.
 * @template {Element} T
 * @param {string} id
 * @param {new () => T} kind
 * @returns {T}
 */
export function element(id, kind) {
  return sure(document.getElementById(id), kind, `#${id}`);
}

/** @type {(id: string) => HTMLElement} */
export const $ = (id) => element(id, HTMLElement);

/**
 * The same, or null where the page has none with this id.
 * @template {Element} T
 * @param {string} id
 * @param {new () => T} kind
 * @returns {T | null}
 */
export function maybe(id, kind) {
  return document.getElementById(id) && element(id, kind);
}

/**
 * Every element under `root` that the selector finds, each of this kind.
 * @template {Element} T
 * @param {ParentNode} root
 * @param {string} selector
 * @param {new () => T} kind
 * @returns {T[]}
 */
export function every(root, selector, kind) {
  return [...root.querySelectorAll(selector)].map((node) => sure(node, kind, selector));
}

/**
 * The first element under `root` that the selector finds; null where there is none.
 * @template {Element} T
 * @param {ParentNode} root
 * @param {string} selector
 * @param {new () => T} kind
 * @returns {T | null}
 */
export function first(root, selector, kind) {
  const node = root.querySelector(selector);
  return node && sure(node, kind, selector);
}

/**
 * The same; it throws where there is none.
 * @template {Element} T
 * @param {ParentNode} root
 * @param {string} selector
 * @param {new () => T} kind
 * @returns {T}
 */
export function only(root, selector, kind) {
  return sure(root.querySelector(selector), kind, selector);
}

/**
 * The nearest element that the selector names, from where an event happened outwards; null where there is none.
 * @param {EventTarget | null} target
 * @param {string} selector
 * @returns {HTMLElement | null}
 */
export function closest(target, selector) {
  return target instanceof Element ? target.closest(selector) : null;
}

/** @type {(node: EventTarget | null) => node is Page.Field} */
export const isField = (node) =>
  node instanceof HTMLInputElement || node instanceof HTMLSelectElement || node instanceof HTMLTextAreaElement;

/** @type {(root: ParentNode) => Page.Field[]} */
export const fieldsIn = (root) => [...root.querySelectorAll("input, select, textarea")].filter(isField);

/**
 * A copy of a node with all that is in it.
 * @template {Node} T
 * @param {T} node
 */
export const copyOf = (node) => /** @type {T} */ (node.cloneNode(true));

/**
 * The data that the page came with, as the page says what it is.
 * @template T
 * @returns {T}
 */
export const pageData = () => JSON.parse($("page-data").textContent ?? "");

/**
 * A new element with these words, and with a class or with more of its properties.
 * @template {keyof HTMLElementTagNameMap} K
 * @param {K} tag
 * @param {string | Partial<HTMLElementTagNameMap[K]>} more
 * @returns {HTMLElementTagNameMap[K]}
 */
export function make(tag, words = "", more = {}) {
  const given = typeof more === "string" ? { className: more } : more;
  return Object.assign(document.createElement(tag), { textContent: words }, given);
}

/**
 * @template {Element} T
 * @param {Element | null} node
 * @param {new () => T} kind
 * @param {string} name
 * @returns {T}
 */
function sure(node, kind, name) {
  if (node instanceof kind) return node;
  throw new TypeError(`${name} is ${node ? node.constructor.name : "not on this page"}; ${kind.name} was looked for`);
}
