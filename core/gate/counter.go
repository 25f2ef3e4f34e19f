package gate

import "cribgate/core/source"

// The reasons that the counter adds, since they need the register, the tag or
// the person. [Decide] never gives one.
const (
	UnknownSling = firstOfCounter + iota
	TagNotOurs
	TagForged
	TagUnreadable
	TagNewerFormat
	TagWebAddress
	TagIsBadge
	TagIsSlip
	TagIsSeal
	TagReplaced
	TagSpoiled
	TagLapsed
	TagUnconfirmed
	TagDisagrees
	TagDatesBehind
	TagOfAnother
	TagIsLive
	TagNotScanned
	PrintPoor
	ShortCodeUnknown
	ShortCodeAmbiguous
	ShortCodeMistyped
	PlateMismatch
	PlateNeeded
	RiggerUnknown
	RiggerNotCleared
	RoleNotAllowed
	InspectorIssuesOwn
	NotPassed
	RecordForked
	RecordNotUnderstood
	NotCompared
	RegisterBehind
	ClockBehind
	ClockAhead
	RegisterBroken
	ChangedMeanwhile
	NotOut
	NotNow
	IdentTaken
	BadgeNotOurs
	BadgeForged
	BadgeUnknown
	BadgeEnded
	BadgeReplaced
	BadgeNotRecorded
	NotABadge
	ShiftNotAllowed
	CountersignNeeded
	SeatUnknown
	RingTooSmall
	FittingUnknown
	WrongFitting
	NotAlike
	TooFewTogether
	TooManyTogether
	SharesShort
	NotTogether
	Recalled
	OtherUse
	ReachUnknown
	Impounded
	AtRepairer
	RepairUninspected
	StampNotRecorded
	DefectOpen
	DefectBeforeReturn
	TwoSign
	SetAside
	reasonEnd
)

// counterReasons holds one row per reason of the counter, in the order of the constants.
var counterReasons = [reasonEnd - firstOfCounter]reasonRow{
	UnknownSling - firstOfCounter: {"unknown-sling", source.MarkTraces, "The register does not know this sling.",
		"Do not hand it over. Keep it aside and have the keeper register it."},
	TagNotOurs - firstOfCounter: {"tag-not-ours", source.TagAuthentic, "This is not one of this crib's tags.",
		"Look for this crib's own tag on the sling, or type the short code under it."},
	TagForged - firstOfCounter: {"tag-forged", source.TagAuthentic, "The tag looks like one of ours, but its seal is wrong.",
		"Keep the sling aside and tell the keeper: the tag may be copied or forged."},
	TagUnreadable - firstOfCounter: {"tag-unreadable", source.TagSpelling, "The tag cannot be read.",
		"Wipe it and try again, or type the short code under it. If it is damaged, print a new one."},
	TagNewerFormat - firstOfCounter: {"tag-newer-format", source.NewerProgram, "A newer version of this program made this tag.",
		"Update the program on this computer; until then do not hand the sling over."},
	TagWebAddress - firstOfCounter: {"tag-web-address", source.TagAuthentic, "This is a web address and not a sling tag.",
		"Scan the tag that hangs on the sling."},
	TagIsBadge - firstOfCounter: {"tag-is-badge", source.TagAuthentic, "This is a rigger's badge, not a sling's tag.",
		"Scan the tag that hangs on the sling."},
	TagIsSlip - firstOfCounter: {"tag-is-slip", source.TagAuthentic, "This is a lift slip, not a sling's tag.",
		"Scan the tag that hangs on the sling."},
	TagIsSeal - firstOfCounter: {"tag-is-seal", source.TagAuthentic, "This is the register's seal, not a sling's tag.",
		"Scan the tag that hangs on the sling."},
	TagReplaced - firstOfCounter: {"tag-replaced", source.TagConfirmed, "A newer tag was put on this sling; this one is dead.",
		"Find the newer tag on the sling and take this one off. If this is all there is, hold the sling and print a new tag."},
	TagSpoiled - firstOfCounter: {"tag-spoiled", source.TagConfirmed, "This tag was thrown away; it should not be on any sling.",
		"Take it off and cut it up. If it is all that hangs on this sling, hold the sling and print a new tag."},
	TagLapsed - firstOfCounter: {"tag-lapsed", source.TagConfirmed, "This tag was printed and never confirmed on the sling in time.",
		"Print a new tag, put it on, and confirm it."},
	TagUnconfirmed - firstOfCounter: {"tag-unconfirmed", source.TagConfirmed, "This tag has not been confirmed on the sling yet.",
		"Confirm it: scan it on the sling and type the last characters of the plate's own identification."},
	TagDisagrees - firstOfCounter: {"tag-disagrees", source.OneStory, "The tag and the record say different things about this sling.",
		"Hold the sling; the keeper compares tag, plate and record."},
	TagDatesBehind - firstOfCounter: {"tag-dates-behind", source.TagConfirmed, "The tag still shows the dates of an earlier inspection.",
		"Print a new tag, put it on, and confirm it."},
	TagOfAnother - firstOfCounter: {"tag-of-another", source.TagConfirmed, "This tag belongs to another sling.",
		"Take it off and put on the one that was printed for this sling."},
	TagIsLive - firstOfCounter: {"tag-is-live", source.TagConfirmed, "This tag is confirmed already.",
		"Nothing more to do with it."},
	TagNotScanned - firstOfCounter: {"tag-not-scanned", source.TagConfirmed, "A tag is confirmed by scanning it, not by typing its code.",
		"Scan the tag on the sling."},
	PrintPoor - firstOfCounter: {"print-poor", source.PrintGrade, "The print of this tag is graded under C and would soon be unreadable.",
		"Throw the tag away, change what the grades name, and print the next one."},
	ShortCodeUnknown - firstOfCounter: {"short-code-unknown", source.CheckCharacter, "No tag of this register has this short code.",
		"Read the code under the symbol again, or scan the tag."},
	ShortCodeAmbiguous - firstOfCounter: {"short-code-ambiguous", source.CheckCharacter, "More than one tag has this short code.",
		"Scan the tag instead."},
	ShortCodeMistyped - firstOfCounter: {"short-code-mistyped", source.CheckCharacter, "The short code is mistyped: its check character is wrong.",
		"Read the code under the symbol again, character by character."},
	PlateMismatch - firstOfCounter: {"plate-mismatch", source.PlateTyped, "The characters typed are not the last ones of this sling's plate.",
		"Read the plate on the sling again. If it really differs, hold the sling: the tag may be on the wrong one."},
	PlateNeeded - firstOfCounter: {"plate-needed", source.PlateTyped, "The last characters of the plate are needed.",
		"Read them off the metal plate of the sling in your hand and type them."},
	RiggerUnknown - firstOfCounter: {"rigger-unknown", source.KnownRigger, "The register does not know this person.",
		"Pick the rigger by name, or have the keeper add them."},
	RiggerNotCleared - firstOfCounter: {"rigger-not-cleared", source.ClearedRigger, "This person may not draw gear.",
		"Send them to the keeper."},
	RoleNotAllowed - firstOfCounter: {"role-not-allowed", source.RoleTable, "Your role may not do this.",
		"Ask someone whose role may; the people page shows who."},
	InspectorIssuesOwn - firstOfCounter: {"inspector-issues-own", source.OtherEyes, "Whoever passed a sling does not make its next issue.",
		"Let another attendant hand it over."},
	NotPassed - firstOfCounter: {"not-passed", source.ReturnToService, "Its last thorough inspection did not pass it.",
		"Inspect it again and record the outcome before releasing it."},
	RecordForked - firstOfCounter: {"record-forked", source.OneStory, "Two records of this sling, or of the crib, contradict each other.",
		"Hold the sling; keeper and inspector find out which is right."},
	RecordNotUnderstood - firstOfCounter: {"record-not-understood", source.NewerProgram, "A newer version of this program wrote part of the record of this sling or of the crib.",
		"Update the program on this computer; until then do not hand the sling over."},
	NotCompared - firstOfCounter: {"not-compared", source.Compared, "The register was brought back from a copy, and this sling has not been compared with it since.",
		"Compare it first: scan the tag on the sling and type the last characters of its plate."},
	RegisterBehind - firstOfCounter: {"register-behind", source.Compared, "The register is behind this tag, which says more than the register knows.",
		"Keep the sling here. Keeper and inspector find out what has happened to it; then the record is corrected and a new tag printed."},
	ClockBehind - firstOfCounter: {"clock-behind", source.ClockFloor, "This computer's clock is behind the register.",
		"Nothing goes out until it is right: the clock page says what to do. Take slings back and hold them as usual."},
	ClockAhead - firstOfCounter: {"clock-ahead", source.ClockFloor, "This computer's clock leapt by more than a day, and nobody has confirmed the date since.",
		"Nothing goes out until keeper and inspector confirm it on the clock page. Take slings back and hold them as usual."},
	RegisterBroken - firstOfCounter: {"register-broken", source.RegisterWhole, "The register does not hold: its last verification found it damaged or changed.",
		"Nothing goes out until it holds again: the seal page says what was found. Take slings back and hold them as usual."},
	ChangedMeanwhile - firstOfCounter: {"changed-meanwhile", source.FirstWins, "Someone else did something with this sling just now.",
		"Scan it again and look."},
	NotOut - firstOfCounter: {"not-out", source.OneHolder, "It came back, but the record does not have it out.",
		"Take it in and hold it: find out where it was, and whether it was used."},
	NotNow - firstOfCounter: {"not-now", source.OneHolder, "This cannot be done with the sling as it stands now.",
		"Scan it again and look where it stands."},
	IdentTaken - firstOfCounter: {"ident-taken", source.OneStory, "A sling with this identification is registered already.",
		"Look at that sling first; two slings never share an identification."},
	BadgeNotOurs - firstOfCounter: {"badge-not-ours", source.TagAuthentic, "This badge was not made by this crib.",
		"Pick the rigger by name; the keeper has a badge printed."},
	BadgeForged - firstOfCounter: {"badge-forged", source.TagAuthentic, "This looks like one of our badges, but its seal is wrong.",
		"Keep the badge and tell the keeper: it may be copied or forged. Pick the rigger by name."},
	BadgeUnknown - firstOfCounter: {"badge-unknown", source.KnownRigger, "The register does not know whose badge this is.",
		"Pick the rigger by name, or have the keeper add them."},
	BadgeEnded - firstOfCounter: {"badge-ended", source.ClearedRigger, "The last day of this badge is over.",
		"Send the rigger to the keeper."},
	BadgeReplaced - firstOfCounter: {"badge-replaced", source.NewestBadge, "A newer badge was printed for this person; this one is no longer good.",
		"Cut it up. If the person in front of you is the one, pick the name."},
	BadgeNotRecorded - firstOfCounter: {"badge-not-recorded", source.NewestBadge, "The register does not know that this badge was printed.",
		"Pick the name, and have the keeper print the next badge."},
	NotABadge - firstOfCounter: {"not-a-badge", source.TagAuthentic, "This is not a badge.",
		"Scan the badge, or pick the name."},
	ShiftNotAllowed - firstOfCounter: {"shift-not-allowed", source.ShiftGear, "This person may not draw gear for a shift.",
		"State the lift, or send them to the keeper."},
	CountersignNeeded - firstOfCounter: {"countersign-needed", source.Countersigned, "A learner hands over only what another attendant signs for.",
		"Ask another attendant to look and to sign with their own PIN."},
	SeatUnknown - firstOfCounter: {"seat-unknown", source.HookSeats, "Link or crane hook was not measured, so someone has to look.",
		"Hang the upper link on the hook and say whether it seats in the bowl."},
	RingTooSmall - firstOfCounter: {"ring-too-small", source.HookSeats, "The upper link does not go over the crane's hook into its bowl.",
		"Take a sling with a larger link, or another crane. A link that hangs on the tip of a hook bends both."},
	FittingUnknown - firstOfCounter: {"fitting-unknown", source.LowerFits, "Nobody recorded what hangs at the lower ends of this sling.",
		"Have an inspector or the keeper record it, or take another sling."},
	WrongFitting - firstOfCounter: {"wrong-fitting", source.LowerFits, "It has another lower fitting than the lift asks for.",
		"Take a sling with that fitting, or change the lift."},
	NotAlike - firstOfCounter: {"not-alike", source.SinglesTogether, "The one-leg slings on this hook are not alike.",
		"Take slings of one system, size, grade and reach: otherwise one of them carries more than its part."},
	TooFewTogether - firstOfCounter: {"too-few-together", source.SharedLift, "Fewer slings are on the loan than share this lift.",
		"Scan the others first, or change the lift."},
	TooManyTogether - firstOfCounter: {"too-many-together", source.SharedLift, "More slings are on the loan than share this lift.",
		"Take one off the loan, or change the lift."},
	SharesShort - firstOfCounter: {"shares-short", source.SharesAddUp, "The stated parts come to less than the load and the beam.",
		"State again what each sling carries."},
	NotTogether - firstOfCounter: {"not-together", source.SharedLift, "Another sling that shares this lift stays, so this one stays too.",
		"Look at the other one first."},
	Recalled - firstOfCounter: {"recalled", source.OneHolder, "It has been recalled: it is wanted back at the crib.",
		"Bring it to the counter. It is not handed on."},
	OtherUse - firstOfCounter: {"other-use", source.ReturnCheck, "A sling goes from rigger to rigger only for the same lift or use as before.",
		"Bring it to the counter: it is looked at, and handed over for the new lift."},
	ReachUnknown - firstOfCounter: {"reach-unknown", source.LegTension, "Nobody recorded how long the legs of this sling are, so the angle that they would stand at is not known.",
		"Measure its reach and have the keeper record it, or take another sling."},
	Impounded - firstOfCounter: {"impounded", source.KeptAsFound, "It is impounded after an accident: it is kept as it was found.",
		"Leave it locked away, and do nothing with it but look. An inspector and a keeper free it together."},
	AtRepairer - firstOfCounter: {"at-repairer", source.OneHolder, "The record has it at a repairer's.",
		"If it is here, keep it apart; an inspector or the keeper records first that it came back, and what was changed."},
	RepairUninspected - firstOfCounter: {"repair-uninspected", source.ReturnToService, "It came back from repair, and no thorough inspection has passed it since.",
		"Inspect it, part by part, and record the outcome before releasing it."},
	StampNotRecorded - firstOfCounter: {"stamp-not-recorded", source.TagGoverns, "It came back from repair with a new stamp, and the record was not corrected since.",
		"Read the plate again and correct its details before releasing it."},
	DefectOpen - firstOfCounter: {"defect-open", source.DefectOut, "An examiner found a defect that could be dangerous by now, and nobody has recorded its remedy.",
		"Hold the sling. It goes out again once the defect is put right, and an inspector has recorded how."},
	DefectBeforeReturn - firstOfCounter: {"defect-before-return", source.DefectOut, "A defect that an examiner found is to be put right before the sling is to come back.",
		"Agree an earlier day of return, or have it put right first."},
	TwoSign - firstOfCounter: {"two-sign", source.KeptAsFound, "Two people sign for this, each with their own name.",
		"The second is not the one who records it. Where a sling is freed, one of them is an inspector and the other a keeper."},
	SetAside - firstOfCounter: {"set-aside", source.KeptFor, "It is set aside for somebody else’s lift.",
		"Take another sling, or ask whoever it is set aside for. If it goes all the same, the keeper sees it."},
}
