package webtest

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
)

// A Key is one key as a keyboard sends it and a layout reads it.
type Key struct {
	Key   string // what the layout makes of it: "Z", "Enter"
	Code  string // where it lies on the board: "KeyZ"
	Shift bool
}

// A person's and a scanner's time between two keys.
const (
	ByHand    = 150 * time.Millisecond
	ByScanner = 4 * time.Millisecond
)

// US are the keys that type text on a US keyboard; a line feed is Enter.
func US(text string) []Key {
	const plain, shifted = "-,./:=?", "-,./;=/"
	codes := map[rune]string{'-': "Minus", ',': "Comma", '.': "Period", '/': "Slash", ';': "Semicolon", '=': "Equal", ' ': "Space"}
	var keys []Key
	for _, r := range text {
		k := Key{Key: string(r)}
		switch {
		case r == '\n':
			k.Key, k.Code = "Enter", "Enter"
		case r >= 'A' && r <= 'Z':
			k.Code, k.Shift = "Key"+string(r), true
		case r >= 'a' && r <= 'z':
			k.Code = "Key" + strings.ToUpper(string(r))
		case r >= '0' && r <= '9':
			k.Code = "Digit" + string(r)
		default:
			if at := strings.IndexRune(plain, r); at >= 0 && shifted[at] != plain[at] {
				k.Code, k.Shift = codes[rune(shifted[at])], true
			} else {
				k.Code = codes[r]
			}
		}
		keys = append(keys, k)
	}
	return keys
}

// Scanned are the keys of a hand scanner that has read text: framed as the
// scanner's page tells.
func Scanned(text string) []Key { return US("ZX" + text + "\n") }

// scanGap is how long a scanner's page waits for the next key of a scan, at least.
const scanGap = 400 * time.Millisecond

// Press presses keys one after the other. The times between them are those that the
// page is told, however long the test itself takes. Only a scan that is stuck on the
// way, on a machine with too much to do, is scanned again, as a person would.
func (p *Page) Press(apart time.Duration, keys ...Key) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	for !p.pressed(ctx, apart, keys) {
		p.t.Log("browser: a scan was stuck on its way and is scanned again")
		// A page's timers end in their order: then what it heard is thrown away.
		later := fmt.Sprintf("new Promise((done) => setTimeout(() => done(true), %d))", 2*scanGap.Milliseconds())
		if _, err := chromedp.Run(ctx, chromedp.Evaluate[bool](later, chromedp.EvalAwaitPromise)); err != nil {
			p.t.Fatalf("browser: wait until a scan is thrown away: %v", err)
		}
	}
}

// pressed presses keys, and gives up before the last one of a scan that is stuck.
func (p *Page) pressed(ctx context.Context, apart time.Duration, keys []Key) bool {
	p.t.Helper()
	scan := len(keys) > 2 && keys[0].Key == "Z" && keys[1].Key == "X" && keys[len(keys)-1].Key == "Enter" && apart <= ByScanner
	at := time.Now()
	if rest := p.lastKey.Add(ByHand); at.Before(rest) {
		at = rest // the page's time of the keys before is ahead of the test's
	}
	before := time.Now()
	for _, k := range keys {
		if scan && time.Since(before) > scanGap/2 {
			return false
		}
		before = time.Now()
		p.press(ctx, k, at, apart/4)
		p.lastKey = at
		at = at.Add(apart)
	}
	return true
}

// press presses one key at a time and lets it go after a while.
func (p *Page) press(ctx context.Context, k Key, at time.Time, held time.Duration) {
	p.t.Helper()
	down := input.DispatchKeyEventParams{Type: "keyDown", Key: k.Key, Code: k.Code, Timestamp: stamp(at)}
	switch {
	case k.Key == "Enter":
		down.Text, down.WindowsVirtualKeyCode = "\r", 13
	case k.Key == "Tab":
		down.WindowsVirtualKeyCode = 9
	case k.Key == " ":
		down.Text, down.WindowsVirtualKeyCode = " ", 32
	case k.Key == "ArrowDown":
		down.WindowsVirtualKeyCode = 40
	case len([]rune(k.Key)) == 1:
		down.Text = k.Key
	}
	if k.Shift {
		down.Modifiers = 8
	}
	up := down
	up.Type, up.Text, up.Timestamp = "keyUp", "", stamp(at.Add(held))
	for _, event := range []input.DispatchKeyEventParams{down, up} {
		if _, err := chromedp.Call(ctx, input.DispatchKeyEvent, event); err != nil {
			p.t.Fatalf("browser: press %s: %v", k.Key, err)
		}
	}
}

func stamp(t time.Time) input.TimeSinceEpoch {
	return input.TimeSinceEpoch(float64(t.UnixNano()) / 1e9)
}

// Answer fills in a field or chooses an answer, by the name of the field.
func (p *Page) Answer(name, value string) {
	p.t.Helper()
	if !Eval[bool](p, `((name, value) => {
		const all = [...document.getElementsByName(name)].filter((e) => e.type !== "hidden");
		const choice = all.find((e) => ["radio", "checkbox"].includes(e.type) && e.value === value);
		if (choice) { choice.click(); return true; }
		const field = all.find((e) => !["radio", "checkbox"].includes(e.type));
		if (!field) return false;
		field.value = value;
		field.dispatchEvent(new Event("input", { bubbles: true }));
		return true;
	})(`+quote(name)+`, `+quote(value)+`)`) {
		p.t.Fatalf("browser: nothing to answer %s with %q", name, value)
	}
}
