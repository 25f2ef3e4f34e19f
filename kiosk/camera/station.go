package camera

import (
	"errors"
	"io"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"
)

// A page is one open page of a station. The fields are under the lock of Cameras.
type page struct {
	wire    *wire
	waiting map[int64]func(took bool) // scans that it has not said it has
}

// A phoneNote says to a station how its telephone is.
type phoneNote struct {
	Paired bool   `json:"paired"`
	Up     bool   `json:"up"`
	Words  string `json:"words"`
}

// A stationNote says to a telephone whether anybody takes its scans.
type stationNote struct {
	Open  bool   `json:"open"`
	Words string `json:"words"`
}

const maxHeard = 64 // bytes of what a station's page says

var errHeard = errors.New("camera: not a word of a station")

func hearNothing(int, io.Reader) error { return errHeard }

// ServeStation takes over the connection of a station's page: it is told how the
// station's telephone is, and what that reads. It says "here" when somebody looks at
// it, and "took" and a number for each scan that it has.
func (c *Cameras) ServeStation(w http.ResponseWriter, r *http.Request, s Station) error {
	line, err := c.connect(w, r, maxHeard)
	if err != nil {
		return err
	}
	defer c.disconnect()
	g := &page{wire: line, waiting: map[int64]func(bool){}}
	c.turnTo(s.ID, g)
	defer c.pageGone(s.ID, g)
	return line.run(c.done, func(_ int, r io.Reader) error { return c.hear(s.ID, g, r) }, func() any {
		if c.lapsed(s.Check) {
			return note{Ended: endedSignedOut}
		}
		return nil
	})
}

func (c *Cameras) hear(station string, g *page, r io.Reader) error {
	said, err := io.ReadAll(r)
	if err != nil {
		return err
	}
	if string(said) == "here" {
		c.turnTo(station, g)
		return nil
	}
	number, ok := strings.CutPrefix(string(said), "took ")
	n, err := strconv.ParseInt(number, 10, 64)
	if !ok || err != nil {
		return errHeard
	}
	c.settle(g, n, true)
	return nil
}

// turnTo makes a page the one that gets the scans.
func (c *Cameras) turnTo(station string, g *page) {
	c.mu.Lock()
	defer c.mu.Unlock()
	pages := c.phones.pages[station]
	first := !slices.Contains(pages, g)
	c.phones.pages[station] = append(slices.DeleteFunc(pages, func(o *page) bool { return o == g }), g)
	if !first {
		return
	}
	g.wire.tell(note{Phone: c.phoneNote(station, "")})
	c.tellPhone(station)
}

// pageGone notices that a page is gone; what it had not taken is nobody's.
func (c *Cameras) pageGone(station string, g *page) {
	c.mu.Lock()
	left := slices.DeleteFunc(c.phones.pages[station], func(o *page) bool { return o == g })
	if len(left) == 0 {
		delete(c.phones.pages, station)
	} else {
		c.phones.pages[station] = left
	}
	c.tellPhone(station)
	waiting := g.waiting
	g.waiting = nil
	c.mu.Unlock()
	for _, result := range waiting {
		result(false)
	}
}

// deliver hands a scan to the page that somebody looks at, and tells the telephone
// what became of it. Where nobody takes it, it is new again when it is seen next.
func (c *Cameras) deliver(p *pairing, e *eye, text string, resembles bool) {
	result := func(took bool) {
		if took {
			e.tell(note{Sent: strconv.FormatInt(p.sent.Add(1), 10) + " sent to " + p.station.Name})
			return
		}
		e.forget(text)
		e.tell(note{Sent: "Not taken at " + p.station.Name})
	}
	c.mu.Lock()
	pages := c.phones.pages[p.station.ID]
	if c.phones.byToken[p.token] != p || len(pages) == 0 {
		c.mu.Unlock()
		result(false)
		return
	}
	g := pages[len(pages)-1]
	c.phones.number++
	n := c.phones.number
	g.waiting[n] = result
	g.wire.tell(note{Scan: text, Resembles: resembles, Number: n})
	c.mu.Unlock()
	time.AfterFunc(c.patient, func() { c.settle(g, n, false) })
}

// settle says what became of a scan, once.
func (c *Cameras) settle(g *page, n int64, took bool) {
	c.mu.Lock()
	result := g.waiting[n]
	delete(g.waiting, n)
	c.mu.Unlock()
	if result != nil {
		result(took)
	}
}

// news tells every page of a station how its telephone is; the lock must be held.
func (c *Cameras) news(station, why string) {
	for _, g := range c.phones.pages[station] {
		g.wire.tell(note{Phone: c.phoneNote(station, why)})
	}
}

func (c *Cameras) phoneNote(station, why string) *phoneNote {
	p := c.phones.byStation[station]
	switch {
	case p == nil:
		return &phoneNote{Words: why}
	case p.wire == nil:
		return &phoneNote{Paired: true, Words: "The phone’s line is down: it sleeps or is out of reach. It takes up again by itself."}
	}
	return &phoneNote{Paired: true, Up: true, Words: "A phone reads for this counter."}
}

// tellPhone tells a station's telephone whether anybody takes its scans; the lock
// must be held.
func (c *Cameras) tellPhone(station string) {
	if p := c.phones.byStation[station]; p != nil && p.wire != nil {
		p.wire.tell(note{Station: c.stationNote(p)})
	}
}

func (c *Cameras) stationNote(p *pairing) *stationNote {
	if len(c.phones.pages[p.station.ID]) == 0 {
		return &stationNote{Words: "No counter page is open at " + p.station.Name + ". What you show now is not taken."}
	}
	return &stationNote{Open: true, Words: "Reads for " + p.station.Name + "."}
}
