package web

import (
	"html"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/removal"
	"cribgate/core/required"
	"cribgate/kiosk/counter"
)

// examined records a whole thorough inspection of a two-leg sling, and gives where its
// report is.
func (k *kiosk) examined(ident string) string {
	k.t.Helper()
	id, _ := k.hanging(ident, nil)
	s := k.sling(id)
	mm := quantity.Millimetre
	var found removal.Found
	for leg := 1; leg <= s.Details.Sling.Legs; leg++ {
		found.Links = append(found.Links, removal.Link{Leg: leg, At: 4, D1: s.Details.Sling.Size.Nominal(), D2: s.Details.Sling.Size.Nominal()})
		found.Runs = append(found.Runs, removal.Run{Leg: leg, Links: 11, Length: removal.NominalRun(s.Details.Sling.Size, 11)})
		found.Hooks = append(found.Hooks, removal.Hook{Leg: leg, Throat: 28 * mm, Section: 20 * mm, Latch: removal.LatchGood})
	}
	found.Parts = []removal.Part{{What: removal.Master, Thinnest: 16 * mm}}
	found.Seen = []removal.Code{removal.Gouge}
	o, err := k.server.Counter.Inspect(k.t.Context(), counter.Who{Person: k.inspector.ID, Station: "bench", Way: counter.Scanner, Key: newKey()}, counter.Seen{Sling: id, Heads: s.Heads}, counter.Inspection{
		Date: k.today(), Service: due.Severe, RatingTag: gate.TagLegible, Note: "hung up, cleaned",
		Sheet: &counter.Sheet{Found: found, Legs: []event.LegFound{{Links: 70, Reach: 2_440 * mm}, {Links: 70, Reach: 2_441 * mm}}, Unseen: "under the sleeve of leg 1",
			Method: "by eye and caliper", Instruments: []event.Instrument{{Name: "Caliper 7", Calibrated: k.today()}}, Regime: event.Circumstance, Decision: event.DecidedHold,
			Why: "gouge beside the hook of leg 2", Repair: "hook of leg 2", Tests: "none made"},
	})
	if err != nil || !o.May {
		k.t.Fatalf("%+v, %v", o.Codes, err)
	}
	return reportPath(id, o.At)
}

// inWords is the text of a page or a document without its line breaks.
func inWords(text string) string { return strings.Join(strings.Fields(html.UnescapeString(text)), " ") }

var (
	itemText = regexp.MustCompile(`(?s)<d[td]>(.*?)</d[td]>`)
	tags     = regexp.MustCompile(`<[^>]*>`)
)

// The report's page and its PDF say the same, and every item that LOLER 1998 schedule 1
// names is in the text of the PDF (items 1 to 8 seen, 9 to 11 from memory, not seen).
func TestReportOnPaper(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	path := k.examined("NS-0417")
	c := k.signedIn(k.rigger)
	page := c.get(path)
	file := c.get(path + "/report.pdf")
	if page.status != http.StatusOK || file.status != http.StatusOK || file.header.Get("Content-Type") != "application/pdf" {
		t.Fatalf("page %d, file %d %s", page.status, file.status, file.header.Get("Content-Type"))
	}
	name := filepath.Join(t.TempDir(), "report.pdf")
	if err := os.WriteFile(name, []byte(file.body), 0o600); err != nil {
		t.Fatal(err)
	}
	// The columns of a sheet of paper are one below the other in the text of a document that is read in the order in which it was drawn.
	raw, err := exec.Command(required.Program(t, "pdftotext"), "-raw", name, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	paper := strings.ReplaceAll(inWords(string(raw)), " ", "")
	items := itemText.FindAllStringSubmatch(page.body, -1)
	if len(items) < 40 {
		t.Fatalf("%d items on the page", len(items))
	}
	for _, m := range items {
		for _, part := range strings.Split(tags.ReplaceAllString(m[1], "\x00"), "\x00") {
			if part = inWords(part); part != "" && !strings.Contains(paper, strings.ReplaceAll(part, " ", "")) {
				t.Errorf("the paper lacks %q", part)
			}
		}
	}
	for _, item := range []string{"1", "2", "3", "4", "5", "6", "7(a)", "6(b) and 7(b)", "8(a)", "8(b)", "8(c)", "8(d)", "8(e)", "8(f)", "9", "10", "11"} {
		if !strings.Contains(paper, strings.ReplaceAll("LOLER sch. 1 item "+item, " ", "")) {
			t.Errorf("the paper lacks item %s", item)
		}
	}
	for _, said := range []string{"Not safe to operate: held.", "O. Vance", "gouge beside the hook of leg 2", "Leg 2: reach", "never replaces", "Page 1 of", "under the sleeve of leg 1"} {
		if !strings.Contains(strings.ToLower(paper), strings.ToLower(strings.ReplaceAll(said, " ", ""))) {
			t.Errorf("the paper lacks %q", said)
		}
		if strings.HasPrefix(said, "Page") {
			continue
		}
		if !strings.Contains(page.words(), said) {
			t.Errorf("the page lacks %q", said)
		}
	}
	for _, bad := range []string{path + "x", strings.Replace(path, "/report/", "/report/0", 1), "/rack/NS-0417/report/1", path[:strings.LastIndex(path, "/")] + "/1"} {
		if got := c.get(bad); got.status != http.StatusNotFound {
			t.Errorf("%s: %d", bad, got.status)
		}
	}
}
