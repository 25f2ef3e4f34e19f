package card_test

import (
	"fmt"
	"strings"
	"testing"

	"cribgate/core/tagcode"
	"cribgate/core/trade"
	"cribgate/labeler/card"
)

// slip has n lines, each with texts as long as they come.
func slip(n int) card.Loan {
	l := card.Loan{Title: "Slip for M. Okafor-Lindqvist", Under: "North Sluice crib, 2 Mar 2026, 20:30. Handed over by I. Maro, countersigned by P. Lund. Twelve slings.", Foot: "Register at 1234567 3f2a9c01.", Head: tagcode.Head{At: 1234567, Hash: [32]byte{0x3f, 0x2a, 0x9c, 1}}}
	for i := range n {
		l.Lines = append(l.Lines, card.LoanLine{
			Ident: fmt.Sprintf("NS-%013d", i), MakeUp: "1-1/4 in, grade 100, 4 legs, reach 24 ft 6 1/2 in, can be shortened",
			May:   "May carry 120,300 lb as rigged. Its part of the lift is 118,200 lb.",
			Lift:  "Lift 2: 240,000 lb from papers, the site adds 10 %; under a beam of 3,200 lb, 2 slings; four legs, straight, 60° from horizontal or steeper; on the hook of North bay 2",
			Back:  "Needed back by 4 Mar 2026.",
			Notes: "The centre of gravity is not known to be in the middle: it counts for half. Legs shortened in a hook that supports the chain.",
		})
	}
	return l
}

// TestSlip: as many pages as the lines need, and every line on one of them.
func TestSlip(t *testing.T) {
	for _, paper := range card.Papers() {
		each := map[string]int{"a4": 7, "letter": 6}[paper.Name]
		if each == 0 {
			continue
		}
		for _, n := range []int{1, 7, 8, 40} {
			l := slip(n)
			pages, err := l.Draw(paper)
			if err != nil {
				t.Fatalf("%s, %d lines: %v", paper.Name, n, err)
			}
			text := ""
			for _, d := range pages {
				if d.Height < d.Width {
					t.Errorf("%s lies", paper.Name)
				}
				for _, x := range d.Texts {
					text += x.String + "\n"
				}
			}
			for _, line := range l.Lines {
				if strings.Count(text, line.Ident) != 1 {
					t.Errorf("%s, %d lines: %s stands %d times", paper.Name, n, line.Ident, strings.Count(text, line.Ident))
				}
			}
			if want := (n + each - 1) / each; len(pages) != want {
				t.Errorf("%s, %d lines: %d pages, want %d", paper.Name, n, len(pages), want)
			}
			if strings.Count(text, "Register at") != len(pages) || strings.Count(text, "never replaces") == 0 {
				t.Errorf("%s: cautions or head are missing", paper.Name)
			}
		}
	}
	for list, want := range map[trade.List]string{trade.US: "The rating tag on the sling governs.", trade.UK: "The WLL tag on the sling governs."} {
		l := slip(1)
		l.Words = list
		pages, err := l.Draw(card.Papers()[0])
		if err != nil {
			t.Fatal(err)
		}
		var lines []string
		for _, x := range pages[0].Texts {
			lines = append(lines, x.String)
		}
		if text := strings.Join(strings.Fields(strings.Join(lines, " ")), " "); !strings.Contains(text, want) {
			t.Errorf("list %d: no %q in %s", list, want, text)
		}
	}
	if pages, err := (card.Loan{}).Draw(card.Papers()[0]); err != nil || pages != nil {
		t.Errorf("no lines: %d pages, %v", len(pages), err)
	}
}
