package scan

import (
	"bytes"
	"context"
	"errors"
	"image"
	"image/png"
	"sync"
	"sync/atomic"
	"testing"
)

// TestShowOneAtATime: whoever is shown a picture has the turn until they are done with it.
func TestShowOneAtATime(t *testing.T) {
	var data bytes.Buffer
	if err := png.Encode(&data, image.NewGray(image.Rect(0, 0, 30, 20))); err != nil {
		t.Fatal(err)
	}
	r := NewReader(1)
	var now, most, shown atomic.Int64
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			err := r.Show(t.Context(), data.Bytes(), func(m image.Image) error {
				most.Store(max(most.Load(), now.Add(1)))
				defer now.Add(-1)
				if m.Bounds().Dx() == 30 {
					shown.Add(1)
				}
				return nil
			})
			if err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	if most.Load() != 1 || shown.Load() != 8 {
		t.Errorf("%d at a time, %d shown", most.Load(), shown.Load())
	}
	full := errors.New("the disk is full")
	if err := r.Show(t.Context(), data.Bytes(), func(image.Image) error { return full }); !errors.Is(err, full) {
		t.Errorf("what use says: %v", err)
	}
	if err := r.Show(t.Context(), []byte("no picture"), func(image.Image) error { t.Error("shown"); return nil }); !errors.Is(err, NotAnImage) {
		t.Errorf("no picture: %v", err)
	}
	ctx, end := context.WithCancel(t.Context())
	end()
	r.slots <- struct{}{}
	if err := r.Show(ctx, data.Bytes(), nil); !errors.Is(err, context.Canceled) {
		t.Errorf("while another one is shown: %v", err)
	}
}
