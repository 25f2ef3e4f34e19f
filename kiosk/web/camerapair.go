package web

import (
	"errors"
	"fmt"
	"net"
	"net/http"
	"strings"

	"cribgate/core/state"
	"cribgate/kiosk/camera"
	"cribgate/labeler/symbol"
)

// PairPage gives the code with which a phone becomes the camera of this counter.
type PairPage struct {
	Base
	Code    string // empty: none is asked for yet
	Until   string
	Symbol  Drawing
	Address string // where a phone can type the code
	Reach   string // why a phone may not get there, or has no camera there
	Paired  bool
	Scan    ScanBox
}

// PhonePage is all that a paired phone sees: its camera.
type PhonePage struct {
	Base
	Station string // empty: the phone is not paired
	Code    Field
}

const (
	phonePath = "/phone"
	pairPath  = "/counter/phone"
	codeRoom  = 16 // characters of a code with whatever is typed between them
)

func (s *Server) pairPage(v *visit) error { return s.renderPair(v, camera.Offer{}) }

// offerPairing shows a new code, in the answer itself: an address would keep it.
func (s *Server) offerPairing(v *visit) error {
	offer, err := s.Cameras.Offer(s.cameraStation(v.r))
	if errors.Is(err, camera.ErrFull) {
		return &Visible{Code: Busy, Cause: err, Sentence: "Too many codes stand open just now.", Next: "Try again in five minutes."}
	}
	if err != nil {
		return err
	}
	return s.renderPair(v, offer)
}

func (s *Server) renderPair(v *visit, offer camera.Offer) error {
	address := s.scheme(v.r) + "://" + v.r.Host + phonePath
	p := &PairPage{
		Base: Base{Title: "A phone as the camera"}, Code: offer.Code, Address: address, Reach: s.reach(v.r),
		Paired: s.Cameras.HasPhone(s.Desk.Sessions().Line(v.r).ID()), Scan: ScanBox{Key: newKey(), Away: true},
	}
	if offer.Code != "" {
		var err error
		p.Until = offer.Until.In(v.wordsOf(nil).zone).Format("15:04")
		// What follows the # stays in the phone and is sent by a form.
		if p.Symbol, err = drawLink(address + "#" + offer.Code); err != nil {
			return err
		}
	}
	return s.render(v, http.StatusOK, "pair", p)
}

func (s *Server) scheme(r *http.Request) string {
	if s.Secure || r.TLS != nil {
		return "https"
	}
	return "http"
}

// reach says why a phone cannot be the camera under the address of this page. Browsers
// give a page a camera only by https, or on the machine itself (W3C Secure Contexts,
// from memory, not seen).
func (s *Server) reach(r *http.Request) string {
	host, _, err := net.SplitHostPort(r.Host)
	if err != nil {
		host = r.Host
	}
	ip := net.ParseIP(strings.Trim(host, "[]"))
	switch {
	case host == "localhost" || ip != nil && ip.IsLoopback():
		return "This page is open under an address that only this machine has. Open it under the kiosk’s address in the network, then show a code."
	case s.scheme(r) != "https":
		return "Phones open their camera only where the address begins with https, and this one does not. Ask who set the kiosk up."
	}
	return ""
}

// endPairing lets the phone of this counter go.
func (s *Server) endPairing(v *visit) error {
	s.Cameras.LetGo(s.Desk.Sessions().Line(v.r).ID())
	s.notice(v, "No phone reads for this counter any more.")
	return v.redirect(pairPath)
}

// The phone cookie holds the token of a paired phone. It gives no rights of a person.
const phoneCookie = "cribgate_phone"

func phoneToken(r *http.Request) string {
	c, err := r.Cookie(phoneCookie)
	if err != nil {
		return ""
	}
	return c.Value
}

func (s *Server) phonePage(v *visit) error { return s.renderPhone(v, http.StatusOK, "") }

func (s *Server) renderPhone(v *visit, status int, complaint string) error {
	v.who = state.Person{} // the page shows nothing of whoever is signed in there
	station, _ := s.Cameras.Paired(phoneToken(v.r))
	return s.render(v, status, "phone", &PhonePage{
		Base: Base{Title: "Camera"}, Station: station,
		Code: Field{Name: "code", Label: "Code", Hint: "Eight letters and figures", Error: complaint, Most: codeRoom, Needed: true, Focus: true},
	})
}

// pair takes the code that a phone sends, once.
func (s *Server) pair(v *visit) error {
	code, complaint := v.line("code", codeRoom)
	if complaint != "" {
		return s.renderPhone(v, http.StatusUnprocessableEntity, complaint)
	}
	token, _, err := s.Cameras.Pair(code)
	if errors.Is(err, camera.ErrNoOffer) {
		return s.renderPhone(v, http.StatusUnprocessableEntity, "This code is not good, or not any more. Ask for another one at the counter.")
	}
	if err != nil {
		return err
	}
	if old := phoneToken(v.r); old != "" {
		s.Cameras.Leave(old)
	}
	s.setPhone(v, token, int(camera.PairedFor.Seconds()))
	return v.redirect(phonePath)
}

// endPhone lets go from the phone's side.
func (s *Server) endPhone(v *visit) error {
	s.Cameras.Leave(phoneToken(v.r))
	s.setPhone(v, "", -1)
	return v.redirect(phonePath)
}

func (s *Server) setPhone(v *visit, token string, age int) {
	http.SetCookie(v.w, &http.Cookie{Name: phoneCookie, Value: token, Path: phonePath, MaxAge: age,
		HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: s.Secure || v.r.TLS != nil})
}

// drawLink draws the symbol of an address, in modules.
func drawLink(address string) (Drawing, error) {
	modules, err := symbol.Link(address)
	if err != nil {
		return Drawing{}, fmt.Errorf("web: draw a phone's address: %w", err)
	}
	size := len(modules) + 2*symbol.QuietZone
	var path strings.Builder
	for y, row := range modules {
		for x, dark := range row {
			if dark {
				fmt.Fprintf(&path, "M%d %dh1v1h-1Z", x+symbol.QuietZone, y+symbol.QuietZone)
			}
		}
	}
	return Drawing{Words: "A symbol that leads a phone here", Wide: size, High: size,
		Paths: []DrawnPath{{Class: "modules", D: path.String()}}}, nil
}
