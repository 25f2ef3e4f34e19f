package camera

import (
	"flag"
	"math/rand/v2"
	"sync"
	"testing"

	"go.uber.org/goleak"
	"pgregory.net/rapid"
)

func TestMain(m *testing.M) {
	flag.Parse()
	goleak.VerifyTestMain(m)
}

// A watched camera notes what it is shown, and waits before it goes on where it is
// told to.
type watched struct {
	mu    sync.Mutex
	seen  []uint32
	at    int // lookers at the same time
	most  int
	began chan struct{}
	goOn  chan struct{}
}

func (w *watched) look(f Frame) {
	w.mu.Lock()
	w.seen = append(w.seen, f.Number)
	w.at++
	w.most = max(w.most, w.at)
	w.mu.Unlock()
	if w.began != nil {
		w.began <- struct{}{}
		<-w.goOn
	}
	w.mu.Lock()
	w.at--
	w.mu.Unlock()
}

func frame(n uint32) Frame {
	return Frame{Number: n, Kind: Grey, Width: 1, Height: 1, pixels: []byte{0}}
}

// TestNewestFrameWins: while one frame is looked at, each newer one takes the place of
// the one before; when it is done, the newest is next, and nothing after that.
func TestNewestFrameWins(t *testing.T) {
	w := hire(1, 2)
	defer w.close()
	c := &watched{began: make(chan struct{}), goOn: make(chan struct{})}
	s := w.join(c.look)
	defer s.leave()
	s.put(frame(1))
	<-c.began
	for n := range uint32(50) {
		s.put(frame(2 + n))
	}
	c.goOn <- struct{}{}
	<-c.began
	c.goOn <- struct{}{}
	s.put(frame(99))
	<-c.began
	c.goOn <- struct{}{}
	c.mu.Lock()
	defer c.mu.Unlock()
	if len(c.seen) != 3 || c.seen[0] != 1 || c.seen[1] != 51 || c.seen[2] != 99 {
		t.Errorf("looked at %v, want 1, 51, 99", c.seen)
	}
}

// TestFramesOfManyCameras: whatever many cameras send and however they come and go,
// each is shown its frames in order, never two at once, the last of them as well while it
// stays; no more are looked at together than there are workers; and every place is
// free again when all have left.
func TestFramesOfManyCameras(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 3).Draw(t, "workers")
		cameras := rapid.IntRange(1, 6).Draw(t, "cameras")
		frames := rapid.IntRange(1, 40).Draw(t, "frames")
		w := hire(n, cameras)
		var together, most int
		var mu sync.Mutex
		all := make([]*watched, cameras)
		var sends []func()
		for i := range all {
			c := &watched{}
			all[i] = c
			last := make(chan struct{})
			s := w.join(func(f Frame) {
				mu.Lock()
				together++
				most = max(most, together)
				mu.Unlock()
				c.look(f)
				mu.Lock()
				together--
				mu.Unlock()
				if int(f.Number) == frames {
					close(last)
				}
			})
			if s == nil {
				t.Fatal("no place for a camera")
			}
			sends = append(sends, func() {
				for n := range frames {
					s.put(frame(uint32(n + 1)))
				}
				<-last
				s.leave()
				s.put(frame(1)) // too late, and not looked at
			})
		}
		if w.join(all[0].look) != nil {
			t.Fatal("one camera more than there is room for")
		}
		var sending sync.WaitGroup
		for _, send := range sends {
			sending.Go(send)
		}
		sending.Wait()
		w.close()
		for i, c := range all {
			for k := 1; k < len(c.seen); k++ {
				if c.seen[k] <= c.seen[k-1] {
					t.Fatalf("camera %d was shown %v", i, c.seen)
				}
			}
			if c.most != 1 || c.seen[len(c.seen)-1] != uint32(frames) {
				t.Fatalf("camera %d was shown %v, %d at once", i, c.seen, c.most)
			}
		}
		if most > n || len(w.line) > cameras {
			t.Fatalf("%d looked at once, %d in line", most, len(w.line))
		}
	})
}

// TestPlacesAreFreeAgain: a camera that leaves while it is looked at keeps its place
// until that is over, so that the line always has room.
func TestPlacesAreFreeAgain(t *testing.T) {
	w := hire(1, 1)
	defer w.close()
	for range 100 {
		c := &watched{began: make(chan struct{}), goOn: make(chan struct{})}
		var s *slot
		for s == nil { // the worker may be about to let go of the place
			s = w.join(c.look)
		}
		s.put(frame(1))
		<-c.began
		if rand.N(2) == 0 {
			s.put(frame(2))
		}
		s.leave()
		if w.join(c.look) != nil {
			t.Fatal("the place was given away while its camera was looked at")
		}
		c.goOn <- struct{}{}
	}
}
