package command

import (
	"errors"
	"strings"
	"testing"
)

// A run that fails says whether the register knows its tags, and what to do then.
func TestFailedRunSaysWhatTheRegisterKnows(t *testing.T) {
	cause := errors.New("the disk is gone")
	if err := (printed{}).failed(cause); err != cause || hintFor(err) != "" {
		t.Errorf("before the register was told: %v, hint %q", err, hintFor(err))
	}
	err := printed{recorded: true}.failed(cause)
	if !errors.Is(err, cause) || !strings.HasPrefix(err.Error(), "the register has noted these tags as printed") || !strings.Contains(hintFor(err), "run the same command again") {
		t.Errorf("after: %v, hint %q", err, hintFor(err))
	}
	if err := (printed{recorded: true}).failed(nil); err != nil {
		t.Errorf("without a fault: %v", err)
	}
}
