package state

import (
	"testing"

	"cribgate/core/event"
	"cribgate/core/quantity"
)

// reading gives one of so many days after the first of March.
func reading(day, left int) Reading {
	first, _ := quantity.NewDate(2026, 3, 1)
	return Reading{Day: first.AddDays(day), Left: left}
}

func resembled(day int) Reading {
	r := reading(day, 0)
	r.Resembled = true
	return r
}

// What is written down of the readings of a tag.
func TestNews(t *testing.T) {
	for _, c := range []struct {
		last Reading
		now  Reading
		news bool
	}{
		{Reading{}, reading(9, 100), false}, {Reading{}, reading(9, 86), false}, {Reading{}, reading(9, 85), true},
		{reading(9, 60), reading(9, 46), false}, {reading(9, 60), reading(9, 45), true}, {reading(9, 60), reading(10, 89), false},
		{reading(9, 60), reading(10, 90), true}, {reading(9, 60), reading(9, 100), false},
		{reading(9, 40), reading(9, 37), false}, {reading(9, 40), reading(9, 36), true}, {reading(9, 30), reading(9, 20), false},
		{reading(9, 60), resembled(9), true}, {Reading{}, resembled(9), true}, {resembled(9), resembled(20), false},
		{resembled(9), reading(9, 50), false}, {resembled(9), reading(10, 5), true},
	} {
		if got := (Wear{First: c.last, Last: c.last}).News(c.now); got != c.news {
			t.Errorf("after %+v, %+v is news: %v", c.last, c.now, got)
		}
	}
}

// When the next tag is asked for: at once under grade C (0.37, ISO/IEC 15415) and where
// it could not be read, else where it will be within sixty days.
func TestFails(t *testing.T) {
	printed := reading(0, 100).Day
	for name, c := range map[string]struct {
		wear  Wear
		fails bool
	}{
		"never read":                      {Wear{}, false},
		"grade C still":                   {Wear{reading(700, 60), reading(900, 45)}, false},
		"under it":                        {Wear{reading(700, 60), reading(900, 36)}, true},
		"resembled":                       {Wear{reading(700, 90), resembled(900)}, true},
		"a year for a third":              {Wear{reading(360, 67), reading(360, 67)}, false},
		"it will be in 60 days":           {Wear{reading(60, 70), reading(60, 68)}, true},
		"in 61":                           {Wear{reading(61, 69), reading(61, 69)}, false},
		"by its best reading":             {Wear{reading(700, 85), reading(730, 60)}, true},
		"as it was":                       {Wear{reading(700, 85), reading(730, 85)}, false},
		"half in a day, from a dirty one": {Wear{reading(1, 50), reading(1, 50)}, false},
	} {
		if c.wear.First.Left == c.wear.Last.Left {
			c.wear.First = c.wear.Last
		}
		if got := c.wear.Fails(printed); got != c.fails {
			t.Errorf("%s: %v", name, got)
		}
	}
}

// A worn tag asks for the next one, which starts anew.
func TestWornTagIsReplaced(t *testing.T) {
	worn := event.TagRead{Serial: 1, Blocks: []event.ReadBlock{{Wrong: 7, Correction: 22}}}
	bodies := []event.Body{registered()[0], printed(1), event.TagConfirmed{Serial: 1}, worn, printed(2), event.TagConfirmed{Serial: 2}}
	for n, want := range map[int]TagWant{3: 0, 4: WantsWorn, 5: 0, 6: 0} {
		if got := FoldSling(id, story(bodies[:n]...)).Wants(); got != want {
			t.Errorf("after %d events it wants %d, not %d", n, got, want)
		}
	}
	if s := FoldSling(id, story(append(bodies[:2:2], event.TagRead{Serial: 4, Blocks: worn.Blocks})...)); s.Doubt&Contradicts == 0 {
		t.Error("a tag was read that was never printed")
	}
}
