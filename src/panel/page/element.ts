/** An element of the page. All text is inserted as text, never as markup. */
export function made(tag: string, className: string, text = ''): HTMLElement {
  const element = document.createElement(tag);
  if (className !== '') element.className = className;
  if (text !== '') element.textContent = text;
  return element;
}

export function byId(id: string): HTMLElement {
  return document.getElementById(id)!;
}
