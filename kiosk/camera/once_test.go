package camera

import (
	"testing"
	"time"
)

// TestATagIsToldOnce: held still it is told once, however often it is read; a hand that
// shakes does not make it new, and being away for a second does.
func TestATagIsToldOnce(t *testing.T) {
	const tick = 100 * time.Millisecond
	for _, row := range []struct {
		name  string
		shown string // a tick each: A or B is read, AB are taken for one frame each, . is nothing
		told  string
	}{
		{"held still", "AAAAAAAAAAAAAAAAAAAAAAAAAAAAAA", "A"},
		{"a shaking hand", "AAA........A.A..A", "A"},
		{"nine tenths of a second away", "A........A", "A"},
		{"a second away", "A.........A", "AA"},
		{"another one, and back at once", "AAABBBAAA", "AB"},
		{"two by turns", "ABABABABABABABABABABAB", "AB"},
		{"another one for a second, and back", "ABBBBBBBBBBBA", "ABA"},
		{"nothing", "......", ""},
	} {
		var o once
		now, told := time.Unix(0, 0), ""
		for _, what := range row.shown {
			now = now.Add(tick)
			o.frame(now)
			if what != '.' && o.fresh(string(what), now) {
				told += string(what)
			}
		}
		if told != row.told {
			t.Errorf("%s: %q told %q, want %q", row.name, row.shown, told, row.told)
		}
	}
}

// TestASlowMachineSeesATagOnce: where a frame takes longer than a second, one frame
// without the tag is not enough to be away.
func TestASlowMachineSeesATagOnce(t *testing.T) {
	var o once
	now, told := time.Unix(0, 0), 0
	for _, what := range "A.A.A..A" {
		now = now.Add(3 * time.Second)
		o.frame(now)
		if what == 'A' && o.fresh("A", now) {
			told++
		}
	}
	if told != 2 {
		t.Errorf("told %d times, want 2: at first, and after two frames without it", told)
	}
}

// TestWhatNobodyTookIsNew: forgetting makes a text new, and no more than a few are
// remembered together.
func TestWhatNobodyTookIsNew(t *testing.T) {
	var o once
	now := time.Unix(0, 0)
	if !o.fresh("A", now) || o.fresh("A", now) {
		t.Fatal("A is new the first time only")
	}
	o.forget("A")
	if !o.fresh("A", now) {
		t.Error("A was forgotten and is not new")
	}
	for i := range 100 {
		o.fresh(string(rune('a'+i)), now)
	}
	if len(o.texts) != mostTexts {
		t.Errorf("%d texts remembered, want %d", len(o.texts), mostTexts)
	}
}
