package event

import (
	"errors"
	"strings"
	"testing"
)

// A name is what everyone sees of it: nothing in it is invisible or turns the
// writing round, so that no two people look the same.
func TestNames(t *testing.T) {
	for _, c := range []struct{ typed, want string }{
		{"R. Rigger", "R. Rigger"}, {"  R.   Rigger ", "R. Rigger"}, {"Örjan Åsström", "Örjan Åsström"},
		{"Ωμέγα 2", "Ωμέγα 2"}, {strings.Repeat("x", 60), strings.Repeat("x", 60)},
		{"R.\u00a0Rigger", "R. Rigger"}, {"R.\tRigger", "R. Rigger"},
		{"", ""}, {" \u2003 ", ""}, {strings.Repeat("x", 61), ""},
		{"R. Rigger\u200b", ""}, {"R. \u202eRigger", ""}, {"R.\u00adRigger", ""}, {"\ufeffR. Rigger", ""},
		{"R\x00", ""}, {"R\x7f", ""}, {"R\u0085R", "R R"}, {"R\ufffd", ""}, {"R\xff", ""}, {"\ue000", ""},
	} {
		got, err := CheckName(c.typed)
		if got != c.want || errors.Is(err, ErrName) != (c.want == "") {
			t.Errorf("%q: %q, %v; want %q", c.typed, got, err, c.want)
		}
	}
}
