package trade

import (
	"strings"
	"testing"
)

func TestSay(t *testing.T) {
	for _, c := range []struct{ written, us, uk string }{
		{"Its thorough inspection is overdue.", "Its periodic inspection is overdue.", "Its thorough examination is overdue."},
		{"Thoroughly inspected on 3 Mar", "Inspected on 3 Mar", "Thoroughly examined on 3 Mar"},
		{"Rated loads stamped", "Rated loads stamped", "WLLs stamped"},
		{"Choke hitch: never above 75 %?", "Choker hitch: never above 75 %?", "Choke hitch: never above 75 %?"},
		{"too sharp a choke, too tight a basket", "too sharp a choker, too tight a basket", "too sharp a choke, too tight a basket"},
		{"Reach", "Reach", "Effective length"},
		{"Take a sling with more reach, or picks closer together.", "Take a sling with more reach, or picks closer together.", "Take a sling with more effective length, or picks closer together."},
		{"It is retired for good.", "It is retired for good.", "It is scrapped for good."},
		{"Retire it for good", "Retire it for good", "Scrap it for good"},
		{"The centre of gravity is centred", "The center of gravity is centered", "The centre of gravity is centred"},
		{"The server is out of reach", "The server is out of reach", "The server is out of reach"},
		{"The chain will reach 400 °F", "The chain will reach 400 °F", "The chain will reach 400 °F"},
		{"under rated loading", "under rated loading", "under rated loading"},
		{"", "", ""},
	} {
		for list, want := range map[List]string{0: c.written, US: c.us, UK: c.uk} {
			got := list.Say(c.written)
			if got != want {
				t.Errorf("list %d: %q, want %q", list, got, want)
			}
			if again := list.Say(got); again != got {
				t.Errorf("list %d says %q twice as %q", list, got, again)
			}
			if foreign := list.Foreign(got); len(foreign) > 0 {
				t.Errorf("list %d: %q has %q", list, got, foreign)
			}
		}
	}
}

// A longer phrase is never hidden by a shorter one before it, and no list speaks
// in a way that would be changed again.
func TestTable(t *testing.T) {
	for i, e := range entries {
		for _, before := range entries[:i] {
			if strings.HasPrefix(e.written, before.written+" ") {
				t.Errorf("%q never comes to its turn after %q", e.written, before.written)
			}
		}
		for list, said := range map[List]string{US: e.us, UK: e.uk} {
			if again := list.Say(said); again != said {
				t.Errorf("%q is said again as %q", said, again)
			}
		}
		if e.written != strings.ToLower(e.written) {
			t.Errorf("%q is not written small", e.written)
		}
	}
}

func TestForeign(t *testing.T) {
	const text = "Choker hitch, WLL, inspected, thorough examination, center"
	if got := strings.Join(US.Foreign(text), "|"); got != "wll|thorough examination" {
		t.Errorf("in the US: %s", got)
	}
	if got := strings.Join(UK.Foreign(text), "|"); got != "choker hitch|center" {
		t.Errorf("in the UK: %s", got)
	}
	if got := List(0).Foreign(text); got != nil {
		t.Errorf("in no list: %s", got)
	}
}

func FuzzSay(f *testing.F) {
	seeds := []string{"Its thorough inspection is overdue.", "Reach", "a choke hitch", "RATED LOAD", "\xff reach", "ſ rating tag"}
	for _, s := range seeds {
		f.Add(s)
	}
	if len(seeds) != 6 {
		f.Fatal("seeds are missing")
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, l := range []List{US, UK} {
			said := l.Say(text)
			if again := l.Say(said); again != said {
				t.Errorf("%q, then %q, then %q", text, said, again)
			}
		}
	})
}
