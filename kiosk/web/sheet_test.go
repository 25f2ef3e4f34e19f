package web

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/tagcode"
	"cribgate/kiosk/web/webtest"
)

// aSheetEach gives the address of every page that is printed and kept.
func (k *kiosk) aSheetEach() map[string]string {
	k.t.Helper()
	k.onTerms(k.rigger, event.Terms{ShiftGear: true})
	at := k.signedIn(k.attendant)
	at.takes(k.rigger)
	id, text := k.hanging("NS-0417", nil)
	at.send(at.get("/counter"), "/counter/shift", url.Values{"back": {k.today().String()}})
	at.send(at.scan(text), "/counter/issue", nil)
	if k.out(k.rigger, id) != 1 {
		k.t.Fatal("nothing was handed over")
	}
	k.hanging("NS-0001", nil)
	k.beginsCount()
	k.beginsVisit()
	keeper := k.signedIn(k.keeper)
	keeper.send(keeper.get("/paper"), "/paper/pad", url.Values{"sheets": {"2"}})
	k.holds(k.shelved("NS-0002", nil), "a gouge")
	return map[string]string{
		"sheet-held": "/rack/NS-0002/slip",
		"sheet-slip": "/loan/" + k.sling(id).Loan.Line.Loan.String(), "sheet-today": todayPath, "sheet-count": sheetPath, "sheet-examiner": visitSheet, "sheet-shift": shiftPath, "sheet-pad": "/paper/pad/1-2",
		"sheet-report": k.examined("NS-0533"),
	}
}

func (k *kiosk) head() tagcode.Head {
	k.t.Helper()
	head, err := k.store.Head(k.t.Context())
	if err != nil {
		k.t.Fatal(err)
	}
	return tagcode.Head{At: head.At, Hash: head.Hash}
}

// TestSheetsShowTheHead: what is printed and kept says where the register stands, in
// figures and as a symbol; other pages say it in figures, in print.
func TestSheetsShowTheHead(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	sheets := k.aSheetEach()
	head := k.head()
	drawn, err := drawHead(head)
	if err != nil {
		t.Fatal(err)
	}
	c := k.signedIn(k.keeper)
	figure := func(a answer) bool {
		_, after, has := strings.Cut(a.body, `<figure class="stands">`)
		in, _, _ := strings.Cut(after, "</figure>")
		return has && strings.Contains(in, drawn.Paths[0].D) && strings.Contains(in, "The register stands at <strong>"+head.String()+"</strong>.")
	}
	for name, path := range sheets {
		if a := c.get(path); a.status != http.StatusOK || !figure(a) {
			t.Errorf("%s: %d, no head: %s", name, a.status, a.words())
		}
	}
	text, err := head.Text()
	if err != nil {
		t.Fatal(err)
	}
	if read := webtest.Symbols(t, "slip", []byte(c.get(sheets["sheet-slip"]+"/slip.pdf").body)); len(read) != 1 || !slices.Equal(read[0], []string{text}) {
		t.Errorf("the slip as PDF: read %q, want %q", read, text)
	}
	if a := c.get("/rack"); figure(a) || !a.has(`<span class="printed">The register stands at `+head.String()+".</span>") {
		t.Errorf("the rack: %s", a.words())
	}
}

// TestSheetsArePrinted: on paper the symbol is read, on each sheet of a pad.
func TestSheetsArePrinted(t *testing.T) {
	k := newKiosk(t)
	sheets := k.aSheetEach()
	want, err := k.head().Text()
	if err != nil {
		t.Fatal(err)
	}
	p := k.opened(webtest.Start(t), k.keeper)
	for name, path := range sheets {
		p.Go(k.http.URL + path)
		looks(t, p, name)
		sheets := p.Prints(name)
		if name == "sheet-pad" && len(sheets) != 2 {
			t.Errorf("two sheets of the pad lie on %d", len(sheets))
		}
		n := map[bool]int{true: 2, false: 1}[name == "sheet-pad"]
		if read := slices.Concat(sheets...); !slices.Equal(read, slices.Repeat([]string{want}, n)) {
			t.Errorf("%s: read %q, want %d times %q", name, read, n, want)
		}
	}
}
