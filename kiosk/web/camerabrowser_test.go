package web

import (
	"io"
	"net"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/kiosk/counter"
	"cribgate/kiosk/web/webtest"
)

// held is a browser before whose camera one tag is held and never taken away.
func held(t *testing.T, text string) *webtest.Browser {
	t.Helper()
	return webtest.Filming(t, webtest.Film(t, webtest.Shown{Text: text, For: time.Second}))
}

// TestIssueByCamera holds a tag before the camera of the counter: it is scanned once,
// outlined, and its sling handed over; the register says how it was read.
func TestIssueByCamera(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	p := k.atCounter(held(t, text), k.attendant, k.rigger)
	p.Changes(func() { p.Click("[data-camera] [data-on]") })
	if got := verdictOf(p); got != MayGo {
		t.Fatalf("verdict %q: %s", got, p.Text("main"))
	}
	p.Waits(`document.querySelector("[data-advice]")?.textContent === "Read" && document.querySelector("canvas[data-drawn]")`)
	looks(t, p, "camera")
	p.Changes(func() { p.Click(".counter .button.first") })
	if got := p.Text("#verdict"); got != "Handed over" || k.sling(id).Loan.Rigger != k.rigger.ID {
		t.Fatalf("after pressing: %q", got)
	}
	p.Waits(`document.querySelector("[data-advice]")?.textContent === "Read" && document.querySelector("canvas[data-drawn]")`)
	if got := p.Text("#verdict"); got != "Handed over" {
		t.Errorf("the same tag, still before the camera, led to %q", got)
	}
	story, err := k.store.Story(t.Context(), event.Sling(id))
	if err != nil {
		t.Fatal(err)
	}
	if last := story[len(story)-1]; last.Envelope.Kind != "issued" || last.Envelope.Way != string(counter.Camera) {
		t.Errorf("the register says %s by %q", last.Envelope.Kind, last.Envelope.Way)
	}
	if strings.Contains(k.log.String(), text) {
		t.Error("the code is in the log")
	}
}

// TestTagsOneAfterTheOther shows three tags by turns: each is scanned, and again when
// it comes back.
func TestTagsOneAfterTheOther(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	var film []webtest.Shown
	for _, ident := range []string{"NS-0417", "NS-0290", "NS-0311"} {
		_, text := k.hanging(ident, nil)
		film = append(film, webtest.Shown{Text: text, For: time.Second}, webtest.Shown{For: 500 * time.Millisecond})
	}
	p := k.atCounter(webtest.Filming(t, webtest.Film(t, film...)), k.attendant, k.rigger)
	p.Click("[data-camera] [data-on]")
	p.Waits(`document.querySelectorAll(".rail .card").length === 3`)
	for _, ident := range []string{"NS-0417", "NS-0290", "NS-0311"} {
		if !strings.Contains(p.Text(".rail"), ident) {
			t.Errorf("%s is not on the counter: %s", ident, p.Text(".rail"))
		}
	}
}

// paired opens the counter and a phone that is paired to it by the symbol's address,
// each with cookies of its own. The phone takes its own way to the kiosk.
func (k *kiosk) paired(b *webtest.Browser, phoneHome string) (counter, phone *webtest.Page) {
	k.t.Helper()
	counter = k.atCounter(b, k.attendant, k.rigger)
	counter.Go(k.http.URL + pairPath)
	counter.Follow(`form[action="/counter/phone"] button`)
	code := counter.Text("[data-code]")
	phone = b.Page(k.t)
	phone.Size(390, 844)
	phone.Go(phoneHome + phonePath + "#" + code)
	phone.Waits(`document.querySelector("[data-phone-page]")`)
	if at := webtest.Eval[string](phone, `location.href`); strings.Contains(at, code) {
		k.t.Errorf("the code stays in the phone's address: %s", at)
	}
	if strings.Contains(k.log.String(), code) || strings.Contains(k.log.String(), strings.ReplaceAll(code, "-", "")) {
		k.t.Error("the code is in the log")
	}
	return counter, phone
}

const (
	phoneUp   = "A phone reads for this counter."
	phoneDown = "The phone’s line is down"
)

// TestPhoneReadsForTheCounter: what a paired phone is shown arrives at the counter's
// page as a scan. The phone learns that it was taken, and has no other page.
func TestPhoneReadsForTheCounter(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	_, text := k.hanging("NS-0417", nil)
	desk, phone := k.paired(held(t, text), k.http.URL)
	desk.Waits(`document.querySelector("[data-verdict]")`)
	if got := verdictOf(desk); got != MayGo {
		t.Fatalf("verdict %q: %s", got, desk.Text("main"))
	}
	desk.Waits(`document.querySelector("[data-station] [data-phone]").textContent === "` + phoneUp + `"`)
	phone.Waits(`document.querySelector("[data-sent]").textContent === "1 sent to counter-1"`)
	phone.Waits(`document.querySelector("[data-phone]").textContent === "Reads for counter-1."`)
	looks(t, phone, "phone")
	looks(t, desk, "counter-with-phone")
	for _, path := range []string{"/counter", "/rack", "/people"} {
		phone.Go(k.http.URL + path)
		if at := webtest.Eval[string](phone, `location.pathname`); at != "/sign-in" {
			t.Errorf("the phone gets to see %s: %s", path, at)
		}
	}
}

// TestPhoneSleeps: both sides say so, and it takes up again by itself on waking.
func TestPhoneSleeps(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	_, text := k.hanging("NS-0417", nil)
	desk, phone := k.paired(held(t, text), k.http.URL)
	state := func(words string) {
		desk.Waits(`document.querySelector("[data-station] [data-phone]")?.textContent.startsWith("` + words + `")`)
	}
	state(phoneUp)
	hide := func(hidden string) {
		webtest.Eval[bool](phone, `(Object.defineProperty(document, "hidden", { value: `+hidden+`, configurable: true }),
			document.dispatchEvent(new Event("visibilitychange")))`)
	}
	hide("true")
	state(phoneDown)
	if down := webtest.Eval[bool](desk, `document.querySelector("[data-phone]").classList.contains("down")`); !down {
		t.Error("the counter does not mark that the phone is away")
	}
	if !webtest.Eval[bool](phone, `document.querySelector("video").srcObject.getTracks().every((t) => t.readyState === "ended")`) {
		t.Error("the camera goes on while the phone sleeps")
	}
	hide("false")
	state(phoneUp)
	phone.Waits(`document.querySelector("[data-advice]").textContent === "Read"`)
}

// TestPhoneIsLetGo: from the counter, and by signing out there.
func TestPhoneIsLetGo(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	_, text := k.hanging("NS-0417", nil)
	b := held(t, text)
	for name, end := range map[string]func(desk *webtest.Page){
		"let go": func(desk *webtest.Page) {
			desk.Go(k.http.URL + pairPath)
			desk.Follow(`form[action="/counter/phone/end"] button`)
		},
		"signed out": func(desk *webtest.Page) { desk.Follow(`form[action="/sign-out"] button`) },
	} {
		desk, phone := k.paired(b, k.http.URL)
		phone.Waits(`document.querySelector("[data-sent]").textContent`)
		desk.Waits(`document.querySelector("[data-verdict]")`) // it goes there by itself
		end(desk)
		phone.Waits(`document.querySelector("[data-phone]").textContent.endsWith("It reads for no counter any more.")`)
		phone.Go(k.http.URL + phonePath)
		if got := phone.Text("main form[data-pair] h1"); got == "" {
			t.Errorf("%s: the phone is still paired: %s", name, phone.Text("main"))
		}
	}
}

// A road leads to the kiosk and can be cut: what is open breaks, and nothing new gets
// through until it heals.
type road struct {
	home string
	mu   sync.Mutex
	cut  bool
	open map[net.Conn]bool
}

func (k *kiosk) road() *road {
	k.t.Helper()
	to, err := url.Parse(k.http.URL)
	if err != nil {
		k.t.Fatal(err)
	}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		k.t.Fatal(err)
	}
	r := &road{home: "http://" + listener.Addr().String(), open: map[net.Conn]bool{}}
	var all sync.WaitGroup
	all.Go(func() {
		for {
			conn, err := listener.Accept()
			if err != nil {
				return
			}
			all.Go(func() { r.lead(conn, to.Host) })
		}
	})
	k.t.Cleanup(func() {
		listener.Close()
		r.set(true)
		all.Wait()
	})
	return r
}

func (r *road) lead(conn net.Conn, to string) {
	defer conn.Close()
	if !r.note(conn) {
		return
	}
	far, err := net.Dial("tcp", to)
	if err != nil {
		return
	}
	defer far.Close()
	if !r.note(far) {
		return
	}
	var back sync.WaitGroup
	back.Go(func() {
		_, _ = io.Copy(conn, far) // ends when either side does
		conn.Close()
	})
	_, _ = io.Copy(far, conn)
	far.Close()
	back.Wait()
	r.mu.Lock()
	delete(r.open, conn)
	delete(r.open, far)
	r.mu.Unlock()
}

func (r *road) note(conn net.Conn) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.open[conn] = true
	return !r.cut
}

// set cuts the road, or heals it.
func (r *road) set(cut bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.cut = cut
	if cut {
		for conn := range r.open {
			conn.Close()
		}
	}
}

// TestCameraLineCutAndHealed: the page says that the line is down, and goes on by
// itself; the counter says that its phone is away, and that it is back.
func TestCameraLineCutAndHealed(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	_, text := k.hanging("NS-0417", nil)
	way := k.road()
	desk, phone := k.paired(held(t, text), way.home)
	desk.Waits(`document.querySelector("[data-station] [data-phone]")?.textContent === "` + phoneUp + `"`)
	phone.Waits(`document.querySelector("[data-advice]").textContent === "Read"`)
	way.set(true)
	desk.Waits(`document.querySelector("[data-phone]").textContent.startsWith("` + phoneDown + `")`)
	phone.Waits(`document.querySelector("[data-advice]").textContent.startsWith("The line to the kiosk is down")`)
	way.set(false)
	desk.Waits(`document.querySelector("[data-phone]").textContent === "` + phoneUp + `"`)
	phone.Waits(`document.querySelector("[data-advice]").textContent === "Read"`)
}

// TestCamerasOfTheDevice asks for the camera at the back, goes over to another one and
// remembers it, and switches the light where there is one. This browser has one camera
// without a light, so it is told that it has two with one.
func TestCamerasOfTheDevice(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	_, text := k.hanging("NS-0417", nil)
	p := k.atCounter(held(t, text), k.attendant, k.rigger)
	webtest.Eval[bool](p, `(() => {
		window.asked = [];
		window.lit = [];
		const media = MediaDevices.prototype.getUserMedia;
		MediaDevices.prototype.getUserMedia = function (which) { asked.push(JSON.stringify(which)); return media.call(this, which); };
		const devices = MediaDevices.prototype.enumerateDevices;
		MediaDevices.prototype.enumerateDevices = async function () { return [...await devices.call(this), { kind: "videoinput", deviceId: "second" }]; };
		MediaStreamTrack.prototype.getCapabilities = () => ({ torch: true });
		MediaStreamTrack.prototype.applyConstraints = async (which) => { lit.push(which.advanced[0].torch); };
		return true;
	})()`)
	p.Changes(func() { p.Click("[data-camera] [data-on]") })
	if got := webtest.Eval[string](p, `asked.join()`); !strings.Contains(got, `"facingMode":{"ideal":"environment"}`) || !strings.Contains(got, `"audio":false`) {
		t.Errorf("asked for %s", got)
	}
	light := "[data-camera] [data-light]"
	p.Click(light)
	p.Waits(`document.querySelector("` + light + `").getAttribute("aria-pressed") === "true" && lit.join() === "true"`)
	p.Click(light)
	p.Waits(`document.querySelector("` + light + `").getAttribute("aria-pressed") === "false" && lit.join() === "true,false"`)
	p.Click("[data-camera] [data-other]")
	p.Waits(`asked.some((which) => which.includes('"deviceId":{"exact":"second"}')) && localStorage.getItem("camera") === "second"`)
	// There is no second one, so the first goes on.
	p.Waits(`document.querySelector("video").srcObject?.active && document.querySelector("canvas[data-drawn]")`)
	p.Go(k.http.URL + "/counter")
	p.Waits(`document.querySelector("video").srcObject?.active`)
	p.Click("[data-camera] [data-off]")
	p.Go(k.http.URL + "/counter")
	if webtest.Eval[bool](p, `document.querySelector("video").srcObject !== null`) {
		t.Error("the camera was turned off, and is on again")
	}
}

// TestCameraFromAfar reads under an address that is not this machine's, from where
// frames come as JPEG.
func TestCameraFromAfar(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	address, err := url.Parse(k.http.URL)
	if err != nil {
		t.Fatal(err)
	}
	home := "http://" + notLoopback + ":" + address.Port()
	_, text := k.hanging("NS-0417", nil)
	p := k.atCounterBy(webtest.Filming(t, webtest.Film(t, webtest.Shown{Text: text, For: time.Second}), home), home, k.attendant, k.rigger)
	webtest.Eval[bool](p, `(() => {
		const send = WebSocket.prototype.send;
		WebSocket.prototype.send = function (data) {
			if (data instanceof Blob) data.slice(1, 2).arrayBuffer().then((kind) => document.documentElement.dataset.kind = new Uint8Array(kind)[0]);
			send.call(this, data);
		};
		return true;
	})()`)
	p.Changes(func() { p.Click("[data-camera] [data-on]") })
	if got := verdictOf(p); got != MayGo {
		t.Fatalf("verdict %q: %s", got, p.Text("main"))
	}
	if kind := webtest.Eval[string](p, `document.documentElement.dataset.kind`); kind != "2" {
		t.Errorf("frames of kind %s, want JPEG, 2", kind)
	}
}

// TestNoCameraWithoutHTTPS: under an address that is neither https nor the machine
// itself, the page says why there is no camera, and the pairing page as well.
func TestNoCameraWithoutHTTPS(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	address, err := url.Parse(k.http.URL)
	if err != nil {
		t.Fatal(err)
	}
	home := "http://" + notLoopback + ":" + address.Port()
	p := k.openedBy(webtest.Start(t), home, k.attendant)
	p.Go(home + "/counter")
	p.Click("[data-camera] [data-on]")
	if got := p.Text("[data-trouble]"); !strings.Contains(got, "begins with https") {
		t.Errorf("the counter says %q", got)
	}
	p.Go(home + pairPath)
	if got := p.Text(".wrong.big"); !strings.Contains(got, "begins with https") {
		t.Errorf("the pairing page says %q", got)
	}
	p.Follow(`form[action="/counter/phone"] button`)
	looks(t, p, "pair")
}
