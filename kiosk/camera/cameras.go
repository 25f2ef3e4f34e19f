package camera

import (
	"context"
	"errors"
	"image"
	"io"
	"log/slog"
	"net/http"
	"runtime"
	"sync"
	"time"

	"github.com/gorilla/websocket"

	"cribgate/kiosk/scan"
)

// maxCameras is how many cameras may be looked through at a time (site policy, no
// source): a crib has some counters with one each, and some telephones.
const maxCameras = 32

// A Reader reads one frame, and gives the grids that were laid where a symbol is there
// and cannot be read; see [scan.GlanceGrids], which is the one that is used. It must be
// safe for many goroutines.
type Reader func(frame *image.Gray, turn int) (scan.Sighting, []scan.Grid, error)

// Known are the tags that somebody knows by their looks. It must be safe for many
// goroutines. A worn.Tags is one.
type Known interface {
	// Resembles gives the text of the one that a grid resembles, or a run: grids that
	// were laid beside each other in the last frames, the newest first.
	Resembles(ctx context.Context, grids []scan.Grid, runs [][]scan.Grid) (text string, ok bool, err error)
	// Saw takes in a grid off which a text was read; picture: of the tag alone.
	Saw(ctx context.Context, text string, g scan.Grid, picture bool) error
}

// Options are the settings of [Open]; the zero value suits.
type Options struct {
	Workers int              // frames looked at together; 0: half of the processors, at least one
	Read    Reader           // nil: scan.GlanceGrids
	Known   Known            // nil: none are, and what cannot be read resembles nothing
	Now     func() time.Time // nil: time.Now
	Log     *slog.Logger     // nil discards it
}

// Cameras are the live cameras of a kiosk, and the telephones that are paired to its
// stations. They are safe for many goroutines.
type Cameras struct {
	read    Reader
	known   Known
	now     func() time.Time
	log     *slog.Logger
	upgrade websocket.Upgrader // its default takes same-origin pages only
	workers *workers
	beat    time.Duration // pingEvery, but for tests
	patient time.Duration // takeWithin, but for tests
	done    chan struct{}
	open    sync.WaitGroup // connections

	mu     sync.Mutex
	closed bool
	wires  int
	phones phones
}

// Open starts the workers. [Cameras.Close] must be called at the end.
func Open(o Options) *Cameras {
	c := &Cameras{read: o.Read, known: o.Known, now: o.Now, log: o.Log, beat: pingEvery, patient: takeWithin, done: make(chan struct{}), phones: newPhones()}
	if c.read == nil {
		c.read = scan.GlanceGrids
	}
	if c.now == nil {
		c.now = time.Now
	}
	if c.log == nil {
		c.log = slog.New(slog.DiscardHandler)
	}
	if o.Workers == 0 {
		o.Workers = max(1, runtime.GOMAXPROCS(0)/2)
	}
	c.workers = hire(o.Workers, maxCameras)
	return c
}

// Close ends every connection, waits until they are gone, and ends the workers. An
// HTTP server forgets connections that were taken over, so this comes before its
// Shutdown.
func (c *Cameras) Close() {
	c.mu.Lock()
	if c.closed {
		c.mu.Unlock()
		return
	}
	c.closed = true
	close(c.done)
	c.mu.Unlock()
	c.open.Wait()
	c.workers.close()
}

// Serve takes over a page's connection and tells it what its camera shows, until the
// page goes or check says that it may no more. The error says why it could not be
// served, and is [ErrFrame] where the page sent no frames.
func (c *Cameras) Serve(w http.ResponseWriter, r *http.Request, check Check) error {
	line, err := c.connect(w, r, maxSent)
	if err != nil {
		return err
	}
	defer c.disconnect()
	e := &eye{cameras: c, tell: line.tell, heard: func(text string, like bool, n *note) { n.Scan, n.Resembles = text, like }}
	return e.run(line, func() any {
		if c.lapsed(check) {
			return note{Ended: endedSignedOut}
		}
		return nil
	})
}

// A note is what a page is told. Each field is left out where it is empty.
type note struct {
	Frame     uint32       `json:"frame,omitempty"` // the one that this is about
	Taken     bool         `json:"taken,omitempty"` // the next frame may be sent
	Advice    string       `json:"advice,omitempty"`
	Words     string       `json:"words,omitempty"`     // to be shown
	Outline   [][2]float64 `json:"outline,omitempty"`   // of the symbol that was read, in shares of the picture's width and height
	Scan      string       `json:"scan,omitempty"`      // read, and not seen just before
	Resembles bool         `json:"resembles,omitempty"` // Scan was not read: the symbol resembles that of a tag
	Number    int64        `json:"number,omitempty"`    // of a scan, to be said back
	Phone     *phoneNote   `json:"phone,omitempty"`     // to a station: how its telephone is
	Station   *stationNote `json:"station,omitempty"`   // to a telephone: whether anybody takes its scans
	Sent      string       `json:"sent,omitempty"`      // to a telephone: what became of a scan
	Ended     string       `json:"ended,omitempty"`     // why this line ends and must not be taken up again
}

// An eye looks through one camera.
type eye struct {
	cameras *Cameras
	tell    func(any)
	recent  recent                                     // frames that were not read; one worker at a time looks
	heard   func(text string, resembles bool, n *note) // a text that was not seen just before

	mu      sync.Mutex
	once    once
	adviser adviser
	turn    int
	like    likeness
	weighed time.Time // when a grid was last compared with its tag
}

// run reads frames from a line into a slot until the line ends.
func (e *eye) run(line *wire, tick func() any) error {
	slot := e.cameras.workers.join(e.look)
	if slot == nil {
		line.end(note{Words: "Too many cameras are on just now. Turn one of them off."})
		return line.run(e.cameras.done, func(int, io.Reader) error { return ErrFull }, tick)
	}
	defer slot.leave()
	return line.run(e.cameras.done, func(_ int, r io.Reader) error {
		f, err := ReadFrame(r)
		if err == nil {
			slot.put(f)
		}
		return err
	}, tick)
}

// look reads a frame and tells what came of it.
func (e *eye) look(f Frame) {
	e.tell(note{Frame: f.Number, Taken: true})
	m, err := f.Picture()
	if err != nil {
		e.tell(note{Frame: f.Number, Words: scan.DamagedImage.Sentence()})
		return
	}
	e.mu.Lock()
	turn := e.turn
	e.turn++
	e.mu.Unlock()
	sighting, grids, err := e.cameras.read(m, turn)
	now := e.cameras.now()
	like := e.cameras.resembled(grids, e.recent.runs(grids, now)) // of a frame that was read there are none
	n := note{Frame: f.Number}
	e.mu.Lock()
	e.once.frame(now)
	advice := e.adviser.see(m, err)
	n.Advice, n.Words = advice.String(), advice.Words()
	text, resembles, weigh := "", false, false
	switch {
	case err == nil:
		n.Outline = outline(sighting, f)
		e.like, e.recent = likeness{}, recent{}
		if weigh = now.Sub(e.weighed) >= weighEvery; weigh {
			e.weighed = now
		}
		if text = sighting.Text(); !e.once.fresh(text, now) {
			text = ""
		}
	case errors.Is(err, scan.EmptySymbol):
		n.Words = scan.EmptySymbol.Sentence()
	case e.like.sure(like, now):
		n.Words = likeWords
		if resembles = true; e.once.seen(like) || !e.once.fresh(likeMark+like, now) {
			like = ""
		}
		text = like
	}
	e.mu.Unlock()
	if weigh {
		e.cameras.saw(sighting)
	}
	if text != "" {
		e.heard(text, resembles, &n)
	}
	e.tell(n)
}

// forget makes a text new again that nobody took.
func (e *eye) forget(text string) {
	e.mu.Lock()
	defer e.mu.Unlock()
	e.once.forget(text)
	e.once.forget(likeMark + text)
}

// outline is where the corners of a symbol lie in its frame.
func outline(s scan.Sighting, f Frame) [][2]float64 {
	size := float64(s.Modules())
	var out [][2]float64
	for _, corner := range [...][2]float64{{0, 0}, {size, 0}, {size, size}, {0, size}} {
		x, y := s.At(corner[0], corner[1])
		out = append(out, [2]float64{x / float64(f.Width), y / float64(f.Height)})
	}
	return out
}
