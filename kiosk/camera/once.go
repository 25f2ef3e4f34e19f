package camera

import "time"

// How long, and over how many frames, a text must have been out of view before it
// counts as shown again (site policy, no source): a hand that shakes loses a tag for
// some tenths of a second, and a slow machine sees few frames in one.
const (
	awayFor    = time.Second
	awayFrames = 2
	mostTexts  = 16 // remembered together; a picture shows one or two
)

// once tells a text the first time that it is shown, and again when it was away
// meanwhile. The zero value has seen nothing.
type once struct {
	texts  map[string]sighted
	frames int // looked at so far
}

type sighted struct {
	at    time.Time
	frame int
}

// frame counts a frame that was looked at, and forgets what is away.
func (o *once) frame(now time.Time) {
	o.frames++
	for text, last := range o.texts {
		if now.Sub(last.at) >= awayFor && o.frames-last.frame > awayFrames {
			delete(o.texts, text)
		}
	}
}

// fresh tells whether text is shown for the first time. frame must have counted the
// frame that shows it.
func (o *once) fresh(text string, now time.Time) bool {
	_, known := o.texts[text]
	if !known && len(o.texts) >= mostTexts {
		return false // in so short a time, no hand holds up so many
	}
	if o.texts == nil {
		o.texts = map[string]sighted{}
	}
	o.texts[text] = sighted{now, o.frames}
	return !known
}

// seen tells whether text is in view, or was a moment ago.
func (o *once) seen(text string) bool {
	_, known := o.texts[text]
	return known
}

// forget makes text new again, because nobody took it.
func (o *once) forget(text string) { delete(o.texts, text) }
