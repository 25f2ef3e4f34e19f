package event

import (
	"bytes"
	"errors"
	"fmt"
	"slices"

	"cribgate/core/strict"
)

// Body is one fact in the words of its kind.
type Body interface {
	// Kind is the fact's name on the envelope.
	Kind() Kind
	write(w *strict.Writer)
}

// ErrUnknown reports a kind or schema number that this program does not know:
// a newer program wrote it, and its subject is not to be judged by this one.
var ErrUnknown = errors.New("event: kind or schema not known to this program")

// ErrBody reports a body that is not the one spelling of its kind.
var ErrBody = errors.New("event: body is not what its kind says")

// The kinds.
const (
	KindFounded        Kind = "founded"         // the crib: name, units, rules, policy
	KindPolicySet      Kind = "policy-set"      // the crib: another policy
	KindKeyMade        Kind = "key-made"        // the crib: tags are sealed with this key from now on
	KindRestored       Kind = "restored"        // the crib: a copy was brought back, and a new log begins
	KindTagAhead       Kind = "tag-ahead"       // the crib: a tag of ours says more than the register knows
	KindDateConfirmed  Kind = "date-confirmed"  // the crib: a clock that had jumped ahead was found right
	KindClockCorrected Kind = "clock-corrected" // the crib: a clock that lay behind was found right, the register was ahead
	KindPadPrinted     Kind = "pad-printed"     // the crib: numbered sheets to write on while the program cannot be asked
	KindCountBegun     Kind = "count-begun"     // the crib: the rack is being counted
	KindCountEnded     Kind = "count-ended"     // the crib: what the count came to
	KindStray          Kind = "stray"           // the crib: a sling came that the register does not know
	KindStraySettled   Kind = "stray-settled"   // the crib: what became of it
	KindPersonAdded    Kind = "person-added"    // a person: name and roles
	KindPersonChanged  Kind = "person-changed"  // a person: other name, roles, or no longer here
	KindPINSet         Kind = "pin-set"         // a person: a PIN was set, never which
	KindBadgePrinted   Kind = "badge-printed"   // a person: a badge was printed, those before it are no longer good
	KindErased         Kind = "erased"          // a person or a sling: bodies that tell of a person are gone, and what is left of them
	KindRegistered     Kind = "registered"      // a sling enters the register
	KindCorrected      Kind = "corrected"       // what was registered was wrong
	KindTagPrinted     Kind = "tag-printed"     // a QR tag left the printer
	KindTagConfirmed   Kind = "tag-confirmed"   // it was scanned on the sling, the plate's last characters typed
	KindTagSpoiled     Kind = "tag-spoiled"     // it was thrown away before it hung on the sling
	KindTagRead        Kind = "tag-read"        // it was read, and more or less of its correction was used than before
	KindCompared       Kind = "compared"        // after a restore: tag, plate and record are of one sling
	KindIssued         Kind = "issued"          // the sling went out, with question and answer
	KindRefused        Kind = "refused"         // the sling was asked for and stays, with question and answer
	KindReturned       Kind = "returned"        // it came back, and what the rigger said happened
	KindHeld           Kind = "held"            // it may not go out until an inspector releases it
	KindReleased       Kind = "released"        // an inspector released it, with a reason
	KindInspected      Kind = "inspected"       // a thorough inspection: date, outcome, next due
	KindRetired        Kind = "retired"         // out of service for good
	KindLost           Kind = "lost"            // nobody knows where it is
	KindFound          Kind = "found"           // it turned up; held until looked at
	KindTaken          Kind = "taken"           // it is out, and was not issued here
	KindHandedOn       Kind = "handed-on"       // out, it went from one rigger to another
	KindPlaced         Kind = "placed"          // out, it is kept at a machine or in an area
	KindRecalled       Kind = "recalled"        // out, it is to be brought back
	KindTakenIn        Kind = "taken-in"        // it came back and was not looked at yet
	KindChecked        Kind = "checked"         // the return check of one that was taken in
	KindTold           Kind = "told"            // what its rigger said afterwards
	KindSeen           Kind = "seen"            // it was seen while the rack was counted
	KindMoved          Kind = "moved"           // it has another rack place
	KindImpounded      Kind = "impounded"       // after an accident it is kept as it is
	KindCustody        Kind = "custody"         // impounded, it went to another holder
	KindFreed          Kind = "freed"           // two people ended that
	KindFiguresSet     Kind = "figures-set"     // what its parts measured when new
	KindSentOff        Kind = "sent-off"        // it went to be repaired
	KindCameBack       Kind = "came-back"       // it came back from there, with what
	KindExamined       Kind = "examined"        // what an examiner from outside said of it
	KindRemedied       Kind = "remedied"        // a defect of an examiner's is no more
	KindVisitBegun     Kind = "visit-begun"     // the crib: an examiner from outside is here
	KindVisitEnded     Kind = "visit-ended"     // the crib: what the visit came to
	KindLiftPlanned    Kind = "lift-planned"    // a person: wants slings for a lift on a day
	KindLiftGivenUp    Kind = "lift-given-up"   // a person: that lift is not to be
	KindLiftDrawn      Kind = "lift-drawn"      // a person: slings went out for it
	KindSetAside       Kind = "set-aside"       // it is kept for a planned lift
	KindPutBack        Kind = "put-back"        // it is kept for it no more
)

// kinds maps a name to its readers: of schema 1 first, each reads what its number
// was written as, for ever.
var kinds = map[Kind][]func(o *strict.Object) Body{
	KindFounded:        grown(3, func(o *strict.Object) Body { return ReadFounded(o) }),
	KindPolicySet:      grown(3, func(o *strict.Object) Body { return PolicySet{Policy: readPolicy(o.Obj("policy"))} }),
	KindKeyMade:        {func(o *strict.Object) Body { return readKeyMade(o) }},
	KindRestored:       {func(o *strict.Object) Body { return readRestored(o) }},
	KindTagAhead:       {func(o *strict.Object) Body { return ReadTagAhead(o) }},
	KindDateConfirmed:  {func(o *strict.Object) Body { return readDateConfirmed(o) }},
	KindClockCorrected: {func(o *strict.Object) Body { return readClockCorrected(o) }},
	KindPersonAdded:    grown(3, func(o *strict.Object) Body { return readPersonAdded(o) }),
	KindPersonChanged:  grown(3, func(o *strict.Object) Body { return ReadPersonChanged(o) }),
	KindPINSet:         {func(o *strict.Object) Body { return PINSet{OneTime: o.Bool("one_time")} }},
	KindBadgePrinted:   {func(o *strict.Object) Body { return ReadBadgePrinted(o) }},
	KindErased:         {func(o *strict.Object) Body { return readErased(o) }},
	KindRegistered:     grown(3, func(o *strict.Object) Body { return readRegistered(o) }),
	KindCorrected:      grown(4, func(o *strict.Object) Body { return readCorrected(o) }),
	KindTagPrinted:     {func(o *strict.Object) Body { return ReadTagPrinted(o) }},
	KindTagConfirmed: {
		func(o *strict.Object) Body { return readTagConfirmed(o) },
		func(o *strict.Object) Body { return readTagGraded(o) },
	},
	KindTagSpoiled: {func(o *strict.Object) Body { return readTagSpoiled(o) }},
	KindTagRead:    {func(o *strict.Object) Body { return readTagRead(o) }},
	KindCompared:   {func(o *strict.Object) Body { return readCompared(o) }},
	KindIssued:     grown(4, func(o *strict.Object) Body { return readIssued(o) }),
	KindRefused:    {func(o *strict.Object) Body { return readRefused(o) }},
	KindReturned:   grown(3, func(o *strict.Object) Body { return readReturned(o) }),
	KindHeld:       {func(o *strict.Object) Body { return Held{Reason: o.Str("reason")} }},
	KindReleased:   {func(o *strict.Object) Body { return Released{Reason: o.Str("reason")} }},
	KindInspected:  grown(3, func(o *strict.Object) Body { return readInspected(o) }),
	KindRetired:    twice(func(o *strict.Object) Body { return readRetired(o) }),
	KindLost:       {func(o *strict.Object) Body { return Lost{Note: o.Str("note")} }},
	KindFound:      {func(o *strict.Object) Body { return Found{Note: o.Str("note")} }},

	KindPadPrinted:   {func(o *strict.Object) Body { return readPadPrinted(o) }},
	KindCountBegun:   {func(o *strict.Object) Body { return ReadCountBegun(o) }},
	KindCountEnded:   {func(o *strict.Object) Body { return readCountEnded(o) }},
	KindStray:        {func(o *strict.Object) Body { return ReadStray(o) }},
	KindStraySettled: {func(o *strict.Object) Body { return readStraySettled(o) }},
	KindTaken:        {func(o *strict.Object) Body { return readTaken(o) }},
	KindHandedOn:     {func(o *strict.Object) Body { return readHandedOn(o) }},
	KindPlaced:       {func(o *strict.Object) Body { return readPlaced(o) }},
	KindRecalled:     {func(o *strict.Object) Body { return readRecalled(o) }},
	KindTakenIn:      {func(o *strict.Object) Body { return readTakenIn(o) }},
	KindChecked:      twice(func(o *strict.Object) Body { return readChecked(o) }),
	KindTold:         twice(func(o *strict.Object) Body { return readTold(o) }),
	KindSeen:         {func(o *strict.Object) Body { return readSeen(o) }},
	KindMoved:        {func(o *strict.Object) Body { return Moved{Place: o.Str("place")} }},

	KindImpounded:  {func(o *strict.Object) Body { return ReadImpounded(o) }},
	KindCustody:    {func(o *strict.Object) Body { return readCustody(o) }},
	KindFreed:      {func(o *strict.Object) Body { return readFreed(o) }},
	KindFiguresSet: {func(o *strict.Object) Body { return readFiguresSet(o) }},
	KindSentOff:    {func(o *strict.Object) Body { return readSentOff(o) }},
	KindCameBack:   {func(o *strict.Object) Body { return readCameBack(o) }},
	KindExamined:   {func(o *strict.Object) Body { return readExamined(o) }},
	KindRemedied:   {func(o *strict.Object) Body { return readRemedied(o) }},
	KindVisitBegun: {func(o *strict.Object) Body { return ReadVisitBegun(o) }},
	KindVisitEnded: {func(o *strict.Object) Body { return readVisitEnded(o) }},

	KindLiftPlanned: {func(o *strict.Object) Body { return readLiftPlanned(o) }},
	KindLiftGivenUp: {func(o *strict.Object) Body { return readLiftGivenUp(o) }},
	KindLiftDrawn:   {func(o *strict.Object) Body { return readLiftDrawn(o) }},
	KindSetAside:    {func(o *strict.Object) Body { return ReadSetAside(o) }},
	KindPutBack:     {func(o *strict.Object) Body { return readPutBack(o) }},
}

// grown is a kind whose later schemas, up to newest, have members that the ones
// before have not: they are written only where they say something, and Decode takes
// them under no other number than the one that they bring.
func grown(newest int, read func(o *strict.Object) Body) []func(o *strict.Object) Body {
	return slices.Repeat([]func(o *strict.Object) Body{read}, newest)
}

// twice is a kind with two schemas.
func twice(read func(o *strict.Object) Body) []func(o *strict.Object) Body { return grown(2, read) }

// SchemaOf is the schema number that Encode spells b under: the lowest that can
// say it, so that an older program goes on reading whatever it can.
func SchemaOf(b Body) int {
	if s, ok := b.(interface{ schema() int }); ok {
		return s.schema()
	}
	return 1
}

// MaxBody is the most bytes a body may have.
const MaxBody = 64 << 10

// Encode gives the one spelling of a body. It fails where a text in it is not
// UTF-8 or the whole is over MaxBody.
func Encode(b Body) ([]byte, error) { return encode(b, new(strict.Writer)) }

func encode(b Body, w *strict.Writer) ([]byte, error) {
	w.Begin()
	b.write(w)
	w.End()
	text, err := w.Bytes()
	if err != nil {
		return nil, fmt.Errorf("event: encode %s: %w", b.Kind(), err)
	}
	if len(text) > MaxBody {
		return nil, fmt.Errorf("event: encode %s: %d bytes are over %d", b.Kind(), len(text), MaxBody)
	}
	return text, nil
}

// Decode reads what Encode wrote. It is ErrUnknown for a kind or schema of a
// newer program and ErrBody for bytes that are not the one spelling.
func Decode(kind Kind, schema int, body []byte) (Body, error) {
	return new(Decoder).Decode(kind, schema, body)
}

// A Decoder decodes one body after the other in the same memory, for whoever
// reads a whole register. The zero Decoder is ready; it is for one goroutine.
type Decoder struct {
	parser strict.Parser
	writer strict.Writer
}

// Decode is as the function Decode is. The body keeps nothing of d.
func (d *Decoder) Decode(kind Kind, schema int, body []byte) (Body, error) {
	readers := kinds[kind]
	if schema < 1 || schema > len(readers) {
		return nil, fmt.Errorf("%w: %s %d", ErrUnknown, kind, schema)
	}
	if len(body) > MaxBody {
		return nil, fmt.Errorf("%w: %s of %d bytes", ErrBody, kind, len(body))
	}
	v, err := d.parser.Parse(body)
	if err != nil {
		return nil, fmt.Errorf("%w: %s: %w", ErrBody, kind, err)
	}
	o := strict.Open(string(kind), v)
	b := readers[schema-1](o)
	if err := o.Done(); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrBody, err)
	}
	d.writer.Reset()
	if again, err := encode(b, &d.writer); err != nil || SchemaOf(b) != schema || !bytes.Equal(again, body) {
		return nil, fmt.Errorf("%w: %s in another spelling", ErrBody, kind)
	}
	return b, nil
}
