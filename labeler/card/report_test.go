package card_test

import (
	"strings"
	"testing"

	"cribgate/core/report"
	"cribgate/core/tagcode"
	"cribgate/labeler/card"
)

// TestReport: as many pages as a report needs, every text of it on one of them, long
// words and letters that the face lacks among them, and a heading on no page alone.
func TestReport(t *testing.T) {
	word := strings.Repeat("unbroken", 25)
	r := report.Report{Title: "Report", Number: "417", Verdict: "Held", Standing: "Superseded.", Caution: report.Caution}
	for _, heading := range []string{"First", "Second", "Third", "Fourth", "Fifth", "Sixth"} {
		s := report.Section{Heading: heading}
		for range 9 {
			s.Items = append(s.Items, report.Item{Law: "LOLER sch. 1 item 8(a)", Name: "A name of an item that takes a line more", Says: []string{"One thing.", "Another thing, said in a sentence that is longer than the column in which it stands, so that it breaks."}})
		}
		r.Sections = append(r.Sections, s)
	}
	r.Sections[0].Items[0].Says = []string{word, "a smile \U0001F642 and 漢"}
	for range 30 {
		r.Measured = append(r.Measured, report.Row{What: "Leg 1, link 4: least diameter", New: "10 mm (25/64 in)", Found: "9 mm (23/64 in)", Limit: "8.69 mm (11/32 in): out", Rule: "ASME B30.9"})
	}
	head := tagcode.Head{At: 1234567, Hash: [32]byte{0x3f, 0x2a, 0x9c, 1}}
	for _, paper := range card.Papers() {
		if paper.Name != "a4" && paper.Name != "letter" {
			continue
		}
		pages, err := card.Report{Of: r, Under: "NS-0417", Foot: "Register at 1234567", Head: head}.Draw(paper)
		if err != nil {
			t.Fatalf("%s: %v", paper.Name, err)
		}
		all := ""
		for n, d := range pages {
			text := ""
			for _, x := range d.Texts {
				text += x.String + "\n"
			}
			if strings.Count(text, "Register at") != 1 || !strings.Contains(text, "never replaces") || d.Height < d.Width {
				t.Errorf("%s, page %d lacks head or caution, or lies", paper.Name, n+1)
			}
			for _, s := range r.Sections {
				if _, after, found := strings.Cut(text, s.Heading+"\n"); found && !strings.HasPrefix(after, "One thing.") && !strings.HasPrefix(after, word[:32]) {
					t.Errorf("%s, page %d: %s heads nothing: %q", paper.Name, n+1, s.Heading, after[:min(len(after), 60)])
				}
			}
			all += text
		}
		if got := strings.Join(strings.Fields(all), ""); !strings.Contains(got, word) || !strings.Contains(got, "asmile?and?") {
			t.Errorf("%s: what was typed is not on it", paper.Name)
		}
		if n := strings.Count(all, "One thing."); n != 53 || strings.Count(all, "least diameter") != 30 {
			t.Errorf("%s: %d items, %d measurements", paper.Name, n, strings.Count(all, "least diameter"))
		}
	}
}
