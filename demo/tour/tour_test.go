package tour_test

import (
	"bytes"
	"context"
	"errors"
	"io"
	"strings"
	"testing"
	"time"

	"go.uber.org/goleak"

	"cribgate/core/quantity"
	"cribgate/demo/crib"
	"cribgate/demo/tour"
	"cribgate/store"
)

func TestTour(t *testing.T) {
	defer goleak.VerifyNone(t)
	var told bytes.Buffer
	if err := tour.Run(t.Context(), t.TempDir(), &told); err != nil {
		t.Fatalf("%v\n%s", err, told.String())
	}
	for _, want := range []string{"never replaces", "supports", " 1. ", "42. ", "One loan of three lines", "May go", "Stays here", "rule: ", "next: ", "Whole: ", "came out as they should"} {
		if !strings.Contains(told.String(), want) {
			t.Errorf("%q is not told", want)
		}
	}
}

// A tour that cannot be played out says so: it is ended, has nowhere to tell,
// or finds a register where it should make one.
func TestTourFails(t *testing.T) {
	ended, end := context.WithCancel(t.Context())
	end()
	if err := tour.Run(ended, t.TempDir(), io.Discard); !errors.Is(err, context.Canceled) {
		t.Errorf("ended: %v", err)
	}
	if err := tour.Run(t.Context(), t.TempDir(), full{}); !errors.Is(err, io.ErrShortWrite) {
		t.Errorf("nowhere to tell: %v", err)
	}
	dir := t.TempDir()
	if _, err := crib.Build(t.Context(), crib.Options{Dir: dir, Slings: 1, Years: 1, Last: quantity.DateOf(time.Now())}); err != nil {
		t.Fatal(err)
	}
	if err := tour.Run(t.Context(), dir, io.Discard); !errors.Is(err, store.ErrExists) {
		t.Errorf("over a register: %v", err)
	}
}

// full is a disk without room.
type full struct{}

func (full) Write([]byte) (int, error) { return 0, io.ErrShortWrite }
