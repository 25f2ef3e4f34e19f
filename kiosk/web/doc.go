// Package web holds the kiosk's pages: server-rendered, one style sheet, a few
// small plain script modules, everything embedded. It shows what the register and
// the rules say and sends back what people decide; it works out nothing itself.
//
// Entry points: [New] makes a [Server] from a [Config]; [Server.Handler] answers
// requests. Pages work without scripts, except reading a scanner anywhere on the
// page and the on-screen keypad.
//
// # To add a page
//
//  1. In a file named for it (rack.go), write its struct: it embeds [Base] and
//     holds every text that the template shows.
//  2. Write templates/page/rack.html with {{define "main"}}; use the parts of
//     templates/part by handing them the structs of part.go, as in
//     {{template "plate" .Plate}}.
//  3. Name both in pages (page.go): "rack": &RackPage{}.
//  4. Write the handler: func (s *Server) rack(v *visit) error. It reads the
//     register with s.Store and acts through s.Counter, saying v.by(way, key).
//     Read the form with v.line, v.raw and v.file; v.who is who asks, v.crib the
//     crib, s.today(v) its date.
//  5. End with s.render(v, http.StatusOK, "rack", &RackPage{Base: Base{Title: "Rack"}}),
//     with v.redirect(path) after something was done, or with an error: a
//     [*Visible] is shown as it is, an error of the register that a person can do
//     something about gets its sentence, any other becomes a reference number.
//  6. Give it a line in routes (routes.go) and, if no act there fits, a line in
//     acts (access.go), which says who may. A nav name puts it in the top row.
//
// # What holds for every page
//
// Nothing is written on a GET. A form that changes something carries
// {{template "key" .Key}} and the handler hands v.key to the register, so that
// sending it twice is the same as once. The key says on which day it was made, and
// a form is taken for a fortnight only, since the register does not keep its
// answers for ever. Where no answer comes, static/again.js leaves the page as it
// is, says that it is not known whether it was recorded, and offers to ask again;
// nothing is sent again by itself, but the scans of a heap or count (static/queue.js), which can
// only keep a sling from going out. A page that says that something was not done
// asks first whether the same form had arrived before. What was scanned or typed travels in
// forms, never in an address, and is never logged. The content policy allows no
// script or style inside a page: no style attributes, no onclick.
//
// Shape, words, sound and colour say a verdict together: see [Verdict]. Every
// number shown has its unit and every angle says from what it is measured; the
// texts in the structs come that way. A day that is typed is said with its month in
// words beside the field (Field.Type "date"), since browsers show it as their country does.
//
// # Following the register
//
// Every page is told of every event while it is open, unless its line in routes says
// otherwise (type follows): nothing on a page is silently old. What a page was made
// from stands on its body, with a digest of what it says; when it hears of something
// else it asks for itself again with that digest, and is put in place of what stands
// there where it says something else and nobody is filling anything in, who is told
// instead. So a page has to say the same when it is asked for twice (a test holds it
// to that): nothing drawn by chance but keys, no time that runs. A script that keeps
// something on a page takes the "renews" event, and "loads" where loading the page
// would lose something: see static/live.js. The line itself is static/line.js.
//
// # Building blocks
//
// A page is put together of parts, and looks like the crib it stands in: paper
// behind, steel for what is stamped on metal, pegs that cards hang on. Colours are
// named in static/look.css alone; a test holds every pair that meets against WCAG.
//
//	plate     the verdict: words, shape, sound, and colour last; its rule in few words, in full below
//	must      what to do now
//	walk      the peg of a sling that would do instead
//	actions   big buttons; the black one is what most people should do next
//	strip     what is stamped on the metal, on steel
//	rail      cards on pegs, the newest first; "rail wide" hangs them place by place
//	facts     labels and values, the other unit in small print
//	working   how a figure came about, folded
//	field, area, choice, drawn    what is filled in
//	sieves, sieves-more           what a list can be narrowed to
//
// .sheet is paper that lies on the page, .trio and .pair divide it, .list and .outs
// are rows, .lead says what a page is about, .spoken is heard and not seen.
//
// In the text of a page, styles off, the verdict's words come first, then about what,
// why, by which rule, and what to do now. After another matter was put in place of a
// page's the focus lies on the verdict, on what is wrong, or on what it lay on before;
// it is never lost (static/again.js). Every state that a test looks at is held against
// axe-core; so is every route, which a test opens by itself.
//
// # Words
//
// A page is in the words of its crib (package trade). What a template says by itself
// is put into them when it is parsed; labels, legends, hints, complaints and the small
// print of answers when a part is drawn. What a handler says in a sentence of its own
// goes through words.say, and a reason through words.says. Names, notes and places
// never do. A test reads every page of cribs under each of the four sets of rules.
//
// # Scanners
//
// A hand scanner is a keyboard, so static/burst.js stands in front of every page:
// a burst of keys never reaches a field or presses a button. In its frame (ZX,
// the text, Enter; the page /scanner tells how a scanner is set up) it becomes a
// "scan" event on the document, without it a "burst" event and a sentence. A page
// that takes scans has a form marked data-scan with a field named text, and one
// named way if it wants to know; nothing else is needed. The counter goes further
// (static/counter.js): it sends its forms without leaving the page, so that no scan
// is lost between two pages.
//
// # Cameras
//
// {{template "camera"}} on a page with a data-scan form gives it the camera of its
// device, and tells how the counter's phone is; {{template "camera-away"}} only listens
// to the phone. static/camera.js sends frames to kiosk/camera and draws its answers,
// static/phone.js brings what the phone read. Both end in a "scan" event like that of a
// hand scanner, with the way "camera" in its detail. A page that is put in the place of
// another takes the running picture along. Tests hold tags before a camera with
// webtest.Filming.
//
// # Gloves
//
// A box marked data-keypad gives its number fields a keypad of big buttons; the
// mark may name characters that have a key besides the digits. A box marked
// data-codepad does so for short codes, and for the end of a plate's identification.
package web
