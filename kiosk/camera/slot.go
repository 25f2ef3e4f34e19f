package camera

import "sync"

// workers look at the newest frame of each camera, a fixed number of them for all
// together. A camera that has a frame stands in line once, however many frames it
// sends meanwhile, and one worker at a time looks at it.
type workers struct {
	line   chan *slot    // with room for every camera, so that nobody waits to stand in it
	places chan struct{} // one for each camera that stands, or may come to stand, in line
	stop   chan struct{}
	open   sync.WaitGroup
}

func hire(n, cameras int) *workers {
	w := &workers{line: make(chan *slot, cameras), places: make(chan struct{}, cameras), stop: make(chan struct{})}
	for range n {
		w.open.Go(w.work)
	}
	return w
}

func (w *workers) work() {
	for {
		select {
		case <-w.stop:
			return
		case s := <-w.line:
			s.turn()
		}
	}
}

// close ends the workers; what is still in line is not looked at any more.
func (w *workers) close() {
	close(w.stop)
	w.open.Wait()
}

// A slot holds the newest frame of one camera that nobody has looked at.
type slot struct {
	workers *workers
	look    func(Frame) // by one worker at a time

	mu     sync.Mutex
	newest Frame // Kind 0: none
	inLine bool  // in line, or being looked at
	gone   bool
}

// join gives a camera a slot, whose frames look is shown; nil where there are as many
// cameras as may be.
func (w *workers) join(look func(Frame)) *slot {
	select {
	case w.places <- struct{}{}:
		return &slot{workers: w, look: look}
	default:
		return nil
	}
}

// put lets a frame take the place of the one before, if nobody has taken that.
func (s *slot) put(f Frame) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.gone {
		return
	}
	s.newest = f
	if !s.inLine {
		s.inLine = true
		s.workers.line <- s
	}
}

// turn looks at the newest frame, and stands in line again for one that came
// meanwhile.
func (s *slot) turn() {
	s.mu.Lock()
	f := s.newest
	s.newest = Frame{}
	s.mu.Unlock()
	if f.Kind != 0 {
		s.look(f)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.newest.Kind != 0 {
		s.workers.line <- s
		return
	}
	s.inLine = false
	if s.gone {
		<-s.workers.places
	}
}

// leave lets go of what was put; nothing is put any more. A look that has begun goes
// on. It must be called once.
func (s *slot) leave() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.gone = true
	s.newest = Frame{}
	if !s.inLine {
		<-s.workers.places
	}
}
