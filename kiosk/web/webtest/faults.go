package webtest

// Faults tells what a page gets wrong that can be measured, at a phone's width of
// 360 px and on a desk, in sentences; none if all is well:
//
//   - the page is wider than the window;
//   - text below 18 px (site policy, no source);
//   - a button, link, field or answer below 44 × 44 px (WCAG 2.2 SC 2.5.5), or one
//     that is marked as a big button below 64 px high (site policy, no source);
//   - a field without a label, an image without words, a heading level left out.
func Faults(p *Page) []string {
	p.t.Helper()
	var out []string
	for _, width := range []int{360, 1280} {
		p.Size(width, 800)
		out = append(out, Eval[[]string](p, measure)...)
	}
	return out
}

const measure = `(() => {
  const faults = [];
  const say = (e, text) => faults.push(innerWidth + " px: " + (e ? e.tagName.toLowerCase() + " \"" + (e.innerText || e.getAttribute("name") || e.getAttribute("class") || "").slice(0, 40) + "\" " : "") + text);
  const root = document.documentElement;
  if (root.scrollWidth > root.clientWidth) {
    say(null, "page is " + root.scrollWidth + " px wide");
    for (const e of document.querySelectorAll("main *")) if (e.getBoundingClientRect().right > root.clientWidth + 1) say(e, "sticks out");
  }
  const shown = (e) => e.checkVisibility({ visibilityProperty: true }) && e.getBoundingClientRect().right > 0;
  for (const e of document.querySelectorAll("body *")) {
    const own = [...e.childNodes].some((n) => n.nodeType === 3 && n.data.trim());
    const size = parseFloat(getComputedStyle(e).fontSize) * (e.getScreenCTM?.().a ?? 1);
    if (own && shown(e) && size < 17.99) say(e, "is set in " + size + " px");
  }
  for (const e of document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary")) {
    if (!shown(e)) continue;
    const label = e.matches("[type=radio], [type=checkbox]") ? e.closest("label") : null;
    const box = (label || e).getBoundingClientRect();
    const least = e.matches(".button, .keypad button, .card") || label ? 64 : 44;
    if (box.height < least - 0.5 || box.width < 44) say(e, "is " + Math.round(box.width) + " × " + Math.round(box.height) + " px");
    if (e.matches("input, select, textarea") && !e.labels?.length && !e.getAttribute("aria-label")) say(e, "has no label");
  }
  for (const e of document.querySelectorAll("img:not([alt]), svg:not([role]):not([aria-hidden])")) say(e, "has no words");
  let level = 0;
  for (const e of document.querySelectorAll("h1, h2, h3, h4")) {
    const now = Number(e.tagName[1]);
    if (now > level + 1 && level > 0) say(e, "skips a heading level");
    level = now;
  }
  if (document.querySelectorAll("h1").length !== 1 && !document.querySelector("[data-gallery]")) say(null, "has " + document.querySelectorAll("h1").length + " headings of the first level");
  return faults;
})()`
