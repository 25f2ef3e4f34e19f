package web

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/kiosk/counter"
	"cribgate/store"
)

const (
	heapPath  = "/heap"
	checkPath = "/heap/check"
	toldPath  = "/heap/told"
)

// A heap is what one browser has scanned of a heap that came back. It is kept with
// the session; nothing is decided by it, and nobody's name stands in it.
type heap struct {
	By    string  `json:"by"` // who is signed in, by id; for another one it begins anew
	Last  int     `json:"last"`
	Taken int     `json:"taken"`
	Scans []aScan `json:"scans,omitempty"` // newest first
}

// aScan is one sling, or one reading that led to none, however often it was scanned.
type aScan struct {
	N     int      `json:"n"`
	Sling string   `json:"sling,omitempty"` // by id; empty: the reading led to none
	Mark  string   `json:"mark,omitempty"`  // of what was read, where Sling is empty
	Codes []string `json:"codes,omitempty"` // what is to be said of it
	Taken bool     `json:"taken,omitempty"`
	Again bool     `json:"again,omitempty"` // it was scanned more than once, or taken in before
	At    int64    `json:"at,omitempty"`    // entry of the register that took it in
	Dealt bool     `json:"dealt,omitempty"` // somebody has said that it was dealt with
	Bad   uint8    `json:"bad,omitempty"`   // why a picture led to no reading
}

// mostScans is how many a heap lists; the oldest of which nothing is to be said make
// room.
const mostScans = 300

// heap gives what this browser has scanned.
func (s *Server) heap(v *visit) *heap {
	by := v.who.ID.String()
	var h heap
	if err := json.Unmarshal([]byte(s.Desk.Sessions().Heap(v.r.Context())), &h); err != nil || h.By != by {
		return &heap{By: by} // nothing yet, or of a program that kept it otherwise
	}
	return &h
}

func (s *Server) keepHeap(v *visit, h *heap) error {
	text, err := json.Marshal(h)
	if err != nil {
		return fmt.Errorf("web: keep what was scanned of a heap: %w", err)
	}
	s.Desk.Sessions().PutHeap(v.r.Context(), string(text))
	return nil
}

// put lists a scan in front. What was scanned before is listed once; what was said
// of it the first time still is.
func (h *heap) put(c aScan) {
	same := func(old aScan) bool { return old.Sling == c.Sling && old.Mark == c.Mark }
	if i := slices.IndexFunc(h.Scans, same); i >= 0 {
		first := h.Scans[i]
		sentAgain := c.At != 0 && c.At == first.At // the answer to it was lost
		c.N, c.Again = first.N, first.Again || !sentAgain
		c.At = max(c.At, first.At)
		if c.Taken && first.Taken {
			c.Codes = first.Codes
		}
		h.Scans = slices.Delete(h.Scans, i, i+1)
		if c.Taken && !first.Taken {
			h.Taken++
		}
	} else {
		h.Last++
		c.N = h.Last
		if c.Taken {
			h.Taken++
		}
	}
	h.Scans = slices.Insert(h.Scans, 0, c)
	for len(h.Scans) > mostScans {
		i := len(h.Scans) - 1
		for i > 0 && !h.Scans[i].plain() {
			i--
		}
		if i == 0 {
			return // each of them has something that is to be said of it
		}
		h.Scans = slices.Delete(h.Scans, i, i+1)
	}
}

// plain tells whether nothing is to be said of a scan.
func (c aScan) plain() bool { return c.edge() == TakenIn || c.Dealt }

// clear begins the next heap. What nobody has dealt with yet stays listed.
func (h *heap) clear() {
	h.Taken = 0
	h.Scans = slices.DeleteFunc(h.Scans, aScan.plain)
}

// scannedHeap takes in what was scanned.
func (s *Server) scannedHeap(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	return s.takeInHeap(v, v.reading(), key)
}

// picturedHeap takes in what a picture of a tag shows.
func (s *Server) picturedHeap(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	reading, problem, err := s.readTag(v)
	if err != nil {
		return err
	}
	if problem != 0 {
		return s.listScan(v, aScan{Mark: "picture", Bad: uint8(problem)})
	}
	return s.takeInHeap(v, reading, key)
}

func (s *Server) takeInHeap(v *visit, reading counter.Reading, key string) error {
	o, err := s.Counter.TakeIn(v.r.Context(), v.by(reading.Way, key), reading)
	if err != nil {
		return err
	}
	c := aScan{Taken: o.May, Again: o.May && o.At == 0, At: o.At}
	for _, code := range o.Codes {
		if !o.May || code != gate.Unchecked { // taken in before
			c.Codes = append(c.Codes, code.String())
		}
	}
	if o.Known {
		c.Sling = o.Sling.ID.String()
	} else {
		sum := sha256.Sum256([]byte(reading.Text))
		c.Mark = hex.EncodeToString(sum[:8])
	}
	return s.listScan(v, c)
}

// listScan lists a scan and shows the heap.
func (s *Server) listScan(v *visit, c aScan) error {
	h := s.heap(v)
	h.put(c)
	if err := s.keepHeap(v, h); err != nil {
		return fmt.Errorf("%w: it was done, and then: %w", store.ErrUnknownOutcome, err)
	}
	return v.redirect(heapPath)
}

// dealtWith takes a scan off the list of those that are to be looked at.
func (s *Server) dealtWith(v *visit) error {
	if _, err := v.key(); err != nil {
		return err
	}
	h := s.heap(v)
	for i := range h.Scans {
		h.Scans[i].Dealt = h.Scans[i].Dealt || itoa(h.Scans[i].N) == v.raw("scan")
	}
	if err := s.keepHeap(v, h); err != nil {
		return err
	}
	return v.redirect(heapPath)
}

// nextHeap begins the next heap.
func (s *Server) nextHeap(v *visit) error {
	if _, err := v.key(); err != nil {
		return err
	}
	h := s.heap(v)
	h.clear()
	if err := s.keepHeap(v, h); err != nil {
		return err
	}
	return v.redirect(heapPath)
}

func (s *Server) heapPage(v *visit) error {
	p, err := s.showHeap(v)
	if err != nil {
		return err
	}
	return s.render(v, http.StatusOK, "heap", p)
}

// unchecked counts the slings that wait to be looked at.
func (s *Server) unchecked(v *visit) (int, error) {
	counts, err := s.Store.Count(v.r.Context())
	return counts[gate.StateUnchecked], err
}

// parseCodes reads codes of the closed lists; what an older program named otherwise
// is left out.
func parseCodes(codes []string) (reasons []gate.Reason) {
	for _, code := range codes {
		if r, err := gate.ParseReason(code); err == nil {
			reasons = append(reasons, r)
		}
	}
	return reasons
}

// slingOf reads the sling of a scan.
func (c aScan) slingOf() (event.SlingID, bool) {
	id, err := event.ParseSlingID(c.Sling)
	return id, err == nil
}
