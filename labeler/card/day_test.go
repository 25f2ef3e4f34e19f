package card

import (
	"fmt"
	"strings"
	"testing"

	"cribgate/core/tagcode"
	"cribgate/core/trade"
)

// TestDay: a day of any length is drawn, whatever was typed into it, and every page says
// which of how many it is.
func TestDay(t *testing.T) {
	long := strings.Repeat("unbroken", 30) + " 机 " + strings.Repeat("w ", 200)
	rack := func(n int) (list []RackLine) {
		for i := range n {
			list = append(list, RackLine{Place: fmt.Sprintf("B-%02d peg %d", i/10, i%10), Ident: fmt.Sprintf("NS-%04d", i), Is: "3/8 in, grade 80, 2 legs, 7 ft 10 1/2 in",
				Rated: "12,300 lb for two legs at 60° from horizontal", Due: "10 Nov 2026", Stands: "in", Stays: i%7 == 0})
		}
		return list
	}
	for _, c := range []struct {
		name  string
		day   Day
		least int
	}{
		{"nothing", Day{Title: "Day sheet", Words: trade.US}, 1},
		{"a rack", Day{Title: "Day sheet", Words: trade.UK, Rack: rack(300), Head: tagcode.Head{At: 17, Hash: [32]byte{7}}, Foot: "The register stands at 17."}, 6},
		{"whatever is typed", Day{Title: long, Under: "Crib", Words: trade.US,
			Lifts: []DayLift{{Title: long, Lift: long, Kept: []string{long, "NS-0001"}, Notes: []string{long, long}}}, Rack: []RackLine{{Place: long, Ident: long, Is: long, Rated: long, Due: long, Stands: long}}}, 1},
	} {
		for _, paper := range Papers() {
			if c.name == "whatever is typed" {
				c.day.Title = "Day sheet"
			}
			pages, err := c.day.Draw(paper)
			if err != nil || len(pages) < c.least && paper.Name != "a3" && paper.Name != "ledger" {
				t.Errorf("%s on %s: %d pages, %v", c.name, paper.Name, len(pages), err)
				continue
			}
			for i, p := range pages {
				said := fmt.Sprintf("Page %d of %d", i+1, len(pages))
				found := false
				for _, text := range p.Texts {
					found = found || text.String == said
				}
				if !found {
					t.Errorf("%s on %s: page %d does not say %q", c.name, paper.Name, i+1, said)
				}
			}
		}
	}
}
