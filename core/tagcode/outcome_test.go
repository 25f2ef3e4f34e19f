package tagcode

import (
	"errors"
	"testing"
)

func TestOutcomeWords(t *testing.T) {
	words := map[Outcome]string{NoOutcome: "none", Fit: "fit", Hold: "hold", Out: "out"}
	for o, word := range words {
		if o.String() != word {
			t.Errorf("%d is spelled %q, want %q", o, o, word)
		}
		if back, err := ParseOutcome(word); err != nil || back != o {
			t.Errorf("%q is %d, %v", word, back, err)
		}
	}
	for _, bad := range []string{"", "Fit", "fit ", "passed"} {
		if o, err := ParseOutcome(bad); !errors.Is(err, ErrOutcome) || o != NoOutcome {
			t.Errorf("%q is %d, %v", bad, o, err)
		}
	}
	if s := Outcome(4).String(); s != "" {
		t.Errorf("an outcome that is none is spelled %q", s)
	}
}
