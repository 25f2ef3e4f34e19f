package bulk_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
	"cribgate/labeler/bulk"
	"cribgate/labeler/print"
	"cribgate/store"
)

func TestUnder(t *testing.T) {
	for _, c := range []struct {
		place, asked string
		want         bool
	}{
		{"B-1", "B-1", true},
		{"B-1 peg 3", "B-1", true},
		{"B-1/2", "B-1", true},
		{"B-1a", "B-1", true},
		{"B-10", "B-1", false},
		{"B-1 peg 30", "B-1 peg 3", false},
		{"B-1", "B-1 peg 3", false},
		{"B-1", "B", true},
		{"b-1  Peg 3", " B-1 peg ", true},
		{"Bay 2", "B", false},
		{"Bay 2", "bay", true},
		{"Äb", "Ä", false},
		{"", "B", false},
		{"C", "B", false},
	} {
		if got := bulk.Under(c.place, c.asked); got != c.want {
			t.Errorf("%q under %q: %v", c.place, c.asked, got)
		}
	}
}

func TestReadList(t *testing.T) {
	got, err := bulk.ReadList(strings.NewReader("\nA-2\r\n  A-1 \n\nA-3"))
	if err != nil || !slices.Equal(got, []string{"A-2", "A-1", "A-3"}) {
		t.Errorf("read %q, %v", got, err)
	}
	got, err = bulk.ReadList(strings.NewReader("A-1\na-2\nA-1\n\nA!B\n"))
	var line *print.LineError
	if got != nil || !errors.Is(err, bulk.ErrList) || !errors.As(err, &line) || line.Line != 2 {
		t.Errorf("a bad list: %q, %v", got, err)
	}
	for _, want := range []string{"line 2: ", "line 3: A-1 is on line 1 already", "line 5: "} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q in it", err, want)
		}
	}
	if _, err := bulk.ReadList(strings.NewReader("A-1\n" + strings.Repeat("A", 70_000))); err == nil {
		t.Error("a line of 70,000 bytes")
	}
}

// choice is a shop whose slings differ in what they are chosen by.
func choice(t *testing.T) *shop {
	s := found(t)
	for _, c := range []struct{ ident, place, inspected string }{
		{"A-1", "B-2 peg 1", "2026-03-10"},
		{"A-2", "B-10", "2026-03-09"},
		{"A-3", "B-1 peg 1", "2026-03-11"},
		{"A-4", "", "2026-03-10"},
		{"A-5", "B-1", ""},
	} {
		s.register(t, c.ident, func(d *event.Details) {
			d.Place = c.place
			if c.inspected == "" {
				d.Sling.Inspected, d.Sling.Due, d.Outcome = quantity.Date{}, quantity.Date{}, tagcode.NoOutcome
				return
			}
			d.Sling.Inspected = day(t, c.inspected)
		})
	}
	return s
}

// planned gives the identifications of a plan in order.
func planned(p bulk.Plan) string {
	var list []string
	for _, e := range p.Entries {
		list = append(list, e.Ident)
	}
	return strings.Join(list, " ")
}

func TestSelection(t *testing.T) {
	s := choice(t)
	for _, c := range []struct {
		name string
		q    bulk.Selection
		want string
	}{
		{"all, by identification", bulk.Selection{}, "A-1 A-2 A-3 A-4 A-5"},
		{"inspected that day or later", bulk.Selection{Since: day(t, "2026-03-10")}, "A-1 A-3 A-4"},
		{"inspected the day after", bulk.Selection{Since: day(t, "2026-03-11")}, "A-3"},
		{"under a place, as one walks", bulk.Selection{Place: "b"}, "A-5 A-3 A-1 A-2"},
		{"at one place", bulk.Selection{Place: "B-1"}, "A-5 A-3"},
		{"a list, as it stands", bulk.Selection{Idents: []string{"A-4", "A-1"}}, "A-4 A-1"},
		{"of a list what was inspected", bulk.Selection{Idents: []string{"A-5", "A-2", "A-1"}, Since: day(t, "2026-03-09")}, "A-2 A-1"},
		{"of a list what hangs there", bulk.Selection{Idents: []string{"A-4", "A-5", "A-1"}, Place: "B-1"}, "A-5"},
		{"all three", bulk.Selection{Idents: []string{"A-5", "A-3", "A-1"}, Place: "B-1", Since: day(t, "2026-03-01")}, "A-3"},
	} {
		o := order(t)
		o.Selection = c.q
		run, err := bulk.Start(t.Context(), s.Reader, s.keys, t.TempDir(), o)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if got := planned(run.Plan()); got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
	o := order(t)
	o.Idents = []string{"A-1", "A-9", "A-8"}
	dir := t.TempDir() + "/run"
	_, err := bulk.Start(t.Context(), s.Reader, s.keys, dir, o)
	if !errors.Is(err, store.ErrNotFound) || !strings.Contains(err.Error(), "A-9") || !strings.Contains(err.Error(), "A-8") {
		t.Errorf("a list with unknown slings: %v", err)
	}
	if got := names(files(t, strings.TrimSuffix(dir, "/run"))); got != "" {
		t.Errorf("a list with unknown slings left %s", got)
	}
}

// What gets no tag as its record stands is in the plan with its reason.
func TestLeftOutOfThePlan(t *testing.T) {
	s := found(t, "A-1", "A-2", "A-3", "A-4", "A-5", "A-6")
	s.tell(t, "A-1", event.Retired{Reason: "worn", How: "cut"})
	s.tell(t, "A-2", event.Lost{Note: "gone"})
	s.tell(t, "A-3", event.Held{Reason: "dropped"})
	s.print(t, "A-4", tagcode.MaxSerial, "disc-70")
	s.tell(t, "A-5", event.Corrected{Reason: "older than it looked", Details: func() event.Details {
		sling, err := s.SlingByIdent(t.Context(), "A-5")
		if err != nil {
			t.Fatal(err)
		}
		d := sling.Details
		d.Sling.State = gate.StateIn
		d.Sling.Inspected = day(t, "1999-12-31")
		return d
	}()})
	run, err := bulk.Start(t.Context(), s.Reader, s.keys, t.TempDir(), order(t))
	if err != nil {
		t.Fatal(err)
	}
	p := run.Plan()
	if got := planned(p); got != "A-3 A-6" {
		t.Errorf("planned %s", got)
	}
	want := map[string]string{"A-1": "it is retired", "A-2": "it is lost", "A-4": "all tag serials are used", "A-5": "a tag has no room for its record"}
	for _, l := range p.Left {
		if want[l.Ident] == "" || !strings.Contains(l.Why, want[l.Ident]) {
			t.Errorf("%s: %q, want %q", l.Ident, l.Why, want[l.Ident])
		}
		delete(want, l.Ident)
	}
	if len(want) > 0 {
		t.Errorf("not named: %v", want)
	}
	// Where nothing is left there is no run, and each reason is given.
	o := order(t)
	o.Idents = []string{"A-1", "A-2"}
	_, err = bulk.Start(t.Context(), s.Reader, s.keys, t.TempDir(), o)
	if !errors.Is(err, bulk.ErrNothing) || !strings.Contains(err.Error(), "A-1: it is retired") || !strings.Contains(err.Error(), "A-2: it is lost") {
		t.Errorf("nothing to print: %v", err)
	}
}

// A sling stays on the stock that its last tag was on, where that is known.
func TestStockOfTheLastTag(t *testing.T) {
	s := found(t, "A-1", "A-2", "A-3", "A-4")
	s.print(t, "A-1", 1, "plate-50x80")
	s.print(t, "A-1", 2, "disc-70")
	s.print(t, "A-2", 1, "disc-70")
	s.print(t, "A-2", 2, "no-such")
	s.print(t, "A-3", 7, "plate-50x80")
	start := func(change func(*bulk.Order)) []bulk.Entry {
		o := order(t)
		change(&o)
		run, err := bulk.Start(t.Context(), s.Reader, s.keys, t.TempDir(), o)
		if err != nil {
			t.Fatal(err)
		}
		return run.Plan().Entries
	}
	want := []bulk.Entry{{"A-1", 3, "disc-70", ""}, {"A-2", 3, "plate-50x80", "no-such"}, {"A-3", 8, "plate-50x80", ""}, {"A-4", 1, "plate-50x80", ""}}
	if got := start(func(*bulk.Order) {}); !slices.Equal(got, want) {
		t.Errorf("planned %+v, want %+v", got, want)
	}
	for i := range want {
		want[i].Stock, want[i].Unknown = "plate-50x80", ""
	}
	if got := start(func(o *bulk.Order) { o.Restock = true }); !slices.Equal(got, want) {
		t.Errorf("restocked: %+v, want %+v", got, want)
	}
}
