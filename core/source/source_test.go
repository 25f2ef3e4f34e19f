package source

import (
	"regexp"
	"strings"
	"testing"
)

func TestEveryClauseIsWhole(t *testing.T) {
	spelled := regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)
	seen := map[string]Clause{}
	for _, c := range Clauses() {
		if !spelled.MatchString(c.Key()) {
			t.Errorf("clause %d: key %q is not spelled as keys are", c, c.Key())
		}
		if other, twice := seen[c.Key()]; twice {
			t.Errorf("key %q is of clause %d and of %d", c.Key(), other, c)
		}
		seen[c.Key()] = c
		if c.Says() == "" || c.Text() == unknownText || c.Confidence() == unknownConfidence {
			t.Errorf("clause %q: says %q, text %v, confidence %v", c.Key(), c.Says(), c.Text(), c.Confidence())
		}
		noText := c.Text() == SitePolicy || c.Text() == CommonPractice
		if noText && c.Confidence() != Unsourced && c.Place() == "" {
			t.Errorf("clause %q claims %v of no text and names no place", c.Key(), c.Confidence())
		}
		if back, ok := ParseClause(c.Key()); !ok || back != c {
			t.Errorf("ParseClause(%q) = %d, %v; want %d", c.Key(), back, ok, c)
		}
	}
	if len(seen) < 100 {
		t.Errorf("register has %d clauses, expected at least 100", len(seen))
	}
}

func TestEveryTextIsWholeAndUsed(t *testing.T) {
	used := map[Text]bool{}
	for _, c := range Clauses() {
		used[c.Text()] = true
	}
	keys := map[string]bool{}
	for x := unknownText + 1; x < textEnd; x++ {
		if x.Key() == "" || x.Title() == "" || x.Edition() == "" || keys[x.Key()] {
			t.Errorf("text %d: key %q, title %q, edition %q", x, x.Key(), x.Title(), x.Edition())
		}
		keys[x.Key()] = true
		if !used[x] {
			t.Errorf("text %q is cited by no clause", x.Key())
		}
	}
}

func TestUnknownNamesNothing(t *testing.T) {
	for _, c := range []Clause{None, clauseEnd, 65535} {
		if c.Key() != "none" || c.Text().Key() != "unknown" || c.Confidence().String() != "unknown" {
			t.Errorf("clause %d: %q %q %q", c, c.Key(), c.Text().Key(), c.Confidence())
		}
	}
	for _, key := range []string{"", "none", "osha-table-9", "OSHA-TABLE-1"} {
		if c, ok := ParseClause(key); ok || c != None {
			t.Errorf("ParseClause(%q) = %d, %v", key, c, ok)
		}
	}
}

func TestCitationSaysItsDoubt(t *testing.T) {
	for _, tt := range []struct {
		clause Clause
		want   string
	}{
		{OSHATable1, "table 1"},
		{BendRatio, "from memory, not seen"},
		{HeatTableUS, "as others quote it"},
		{EN10Computed, "computed"},
		{LevelEnough, "site policy, no source"},
		{OtherEyes, "common practice, no source"},
	} {
		if got := tt.clause.String(); !strings.Contains(got, tt.want) {
			t.Errorf("%s reads %q; want %q in it", tt.clause.Key(), got, tt.want)
		}
	}
}
