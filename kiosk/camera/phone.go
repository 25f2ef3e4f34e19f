package camera

import (
	"crypto/rand"
	"crypto/sha256"
	"errors"
	"net/http"
	"strings"
	"sync/atomic"
	"time"
)

// How long a code and a pairing are good (site policy, no source): a code lies open
// on a screen while somebody fetches a telephone, and a pairing lasts a long shift.
const (
	OfferFor  = 5 * time.Minute
	PairedFor = 12 * time.Hour

	takeWithin = 3 * time.Second // for a page to say that it has a scan
	mostOffers = 64
)

// ErrNoOffer reports a code that was never given, was used, or is too old.
// ErrNotPaired reports a token that pairs nothing any more.
var (
	ErrNoOffer   = errors.New("camera: no such code")
	ErrNotPaired = errors.New("camera: not paired")
)

// Why a pairing has ended, in words for whoever looks at the page.
const (
	endedSignedOut = "The station was signed out."
	endedByStation = "The station let this phone go."
	endedByPhone   = "The phone was let go."
	endedReplaced  = "Another phone was paired to this station."
	endedMoved     = "This phone was paired to another station."
	endedTime      = "Twelve hours are over."
)

// A Station is a signed-in browser that stands at a counter.
type Station struct {
	ID    string // of its session: nobody can guess or see it, and it ends with the session
	Name  string // as the register calls it
	Check Check  // whether the session still holds
}

// An Offer is a code that pairs one telephone.
type Offer struct {
	Code  string // "ABCD-EFGH"
	Until time.Time
}

type digest [sha256.Size]byte

func digestOf(kind, text string) digest { return sha256.Sum256([]byte(kind + " " + text)) }

// offered is an offer that stands.
type offered struct {
	station Station
	until   time.Time
}

// A pairing is a telephone and its station.
type pairing struct {
	station Station
	token   digest
	until   time.Time
	wire    *wire // nil: the telephone's line is down
	sent    atomic.Int64
}

// phones are the offers and pairings, under the lock of Cameras.
type phones struct {
	offers    map[digest]offered
	byToken   map[digest]*pairing
	byStation map[string]*pairing
	pages     map[string][]*page // of each station, whoever looked at it last at the end
	number    int64              // of the newest scan that was handed on
}

func newPhones() phones {
	return phones{offers: map[digest]offered{}, byToken: map[digest]*pairing{}, byStation: map[string]*pairing{}, pages: map[string][]*page{}}
}

// Offer gives a code for a station, in place of the one that it had. Its 40 bits
// cannot be guessed in five minutes: at a thousand tries a second, one in four
// million offers would be.
func (c *Cameras) Offer(s Station) (Offer, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	now := c.now()
	for code, o := range c.phones.offers {
		if o.station.ID == s.ID || !now.Before(o.until) {
			delete(c.phones.offers, code)
		}
	}
	if len(c.phones.offers) >= mostOffers {
		return Offer{}, ErrFull
	}
	code, until := rand.Text()[:8], now.Add(OfferFor)
	c.phones.offers[digestOf("code", code)] = offered{s, until}
	return Offer{Code: code[:4] + "-" + code[4:], Until: until}, nil
}

// plainCode is a code as it was given. What is typed for letters that look like
// figures is put right: the codes have the letters A to Z and the figures 2 to 7
// (RFC 4648, section 6).
func plainCode(typed string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case '0':
			return 'O'
		case '1':
			return 'I'
		case '8':
			return 'B'
		}
		if r >= 'A' && r <= 'Z' || r >= '2' && r <= '7' {
			return r
		}
		return -1
	}, strings.ToUpper(typed))
}

// Pair takes a code, once, and gives the token that the telephone shows from then
// on, with the time at which it ends. The telephone that the station had is let go.
// The error is [ErrNoOffer].
func (c *Cameras) Pair(code string) (token string, until time.Time, err error) {
	c.mu.Lock()
	key := digestOf("code", plainCode(code))
	o, ok := c.phones.offers[key]
	delete(c.phones.offers, key)
	c.mu.Unlock()
	if !ok || !c.now().Before(o.until) || c.lapsed(o.station.Check) {
		return "", time.Time{}, ErrNoOffer
	}
	token = rand.Text()
	p := &pairing{station: o.station, token: digestOf("token", token), until: c.now().Add(PairedFor)}
	c.mu.Lock()
	defer c.mu.Unlock()
	if old := c.phones.byStation[p.station.ID]; old != nil {
		c.part(old, endedReplaced)
	}
	c.phones.byToken[p.token], c.phones.byStation[p.station.ID] = p, p
	c.news(p.station.ID, "")
	return token, p.until, nil
}

// Paired tells to which station a token pairs a telephone, and whether it does.
func (c *Cameras) Paired(token string) (station string, ok bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	p := c.phones.byToken[digestOf("token", token)]
	if p == nil || !c.now().Before(p.until) {
		return "", false
	}
	return p.station.Name, true
}

// Leave ends a pairing from the telephone's side.
func (c *Cameras) Leave(token string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if p := c.phones.byToken[digestOf("token", token)]; p != nil {
		c.part(p, endedByPhone)
	}
}

// LetGo ends the pairing of a station, and the offer that it made.
func (c *Cameras) LetGo(station string) { c.release(station, endedByStation) }

// SignedOut is LetGo for a station whose session ends.
func (c *Cameras) SignedOut(station string) { c.release(station, endedSignedOut) }

func (c *Cameras) release(station, why string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for code, o := range c.phones.offers {
		if o.station.ID == station {
			delete(c.phones.offers, code)
		}
	}
	if p := c.phones.byStation[station]; p != nil {
		c.part(p, why)
	}
}

// part ends a pairing; the lock must be held.
func (c *Cameras) part(p *pairing, why string) {
	delete(c.phones.byToken, p.token)
	if c.phones.byStation[p.station.ID] == p {
		delete(c.phones.byStation, p.station.ID)
	}
	if p.wire != nil {
		p.wire.end(note{Ended: why})
		p.wire = nil
	}
	c.news(p.station.ID, why)
}

// ServePhone takes over a telephone's connection: what its camera reads goes to its
// station. A line that it had before is closed. The error is [ErrNotPaired] if the
// token pairs nothing, else as for [Cameras.Serve].
func (c *Cameras) ServePhone(w http.ResponseWriter, r *http.Request, token string) error {
	key := digestOf("token", token)
	c.mu.Lock()
	p := c.phones.byToken[key]
	c.mu.Unlock()
	line, err := c.connect(w, r, maxSent)
	if err != nil {
		return err
	}
	defer c.disconnect()
	e := &eye{cameras: c, tell: line.tell}
	e.heard = func(text string, resembles bool, _ *note) { c.deliver(p, e, text, resembles) }
	if p == nil || !c.takeUp(p, line) {
		line.end(note{Ended: "This phone is not paired any more."})
		return line.run(c.done, hearNothing, func() any { return nil })
	}
	defer c.dropped(p, line)
	return e.run(line, func() any { return c.stillPaired(p) })
}

// takeUp makes a line the telephone's. It tells whether the pairing stands.
func (c *Cameras) takeUp(p *pairing, line *wire) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.phones.byToken[p.token] != p || !c.now().Before(p.until) {
		return false
	}
	if p.wire != nil {
		p.wire.end(note{Words: "This phone is open in another window."})
	}
	p.wire = line
	line.tell(note{Station: c.stationNote(p)})
	c.news(p.station.ID, "")
	return true
}

// dropped notices that a telephone's line is down: it sleeps, or is out of reach.
func (c *Cameras) dropped(p *pairing, line *wire) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if p.wire == line {
		p.wire = nil
		c.news(p.station.ID, "")
	}
}

// stillPaired ends a pairing whose time is over or whose station is signed out. The
// last message is for the line that asks.
func (c *Cameras) stillPaired(p *pairing) any {
	why := ""
	if !c.now().Before(p.until) {
		why = endedTime
	} else if c.lapsed(p.station.Check) {
		why = endedSignedOut
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if why == "" {
		return nil
	}
	c.part(p, why)
	return note{Ended: why}
}

// HasPhone tells whether a telephone is paired to a station.
func (c *Cameras) HasPhone(station string) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.phones.byStation[station] != nil
}
