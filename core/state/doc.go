// Package state says how a story becomes the present: it folds the events of
// one subject into what is known of it now.
//
// The fold is total. It never refuses an event, since what is in the register
// has happened; where a story contradicts itself, or was written by a newer
// program, the result carries a [Doubt], and the counter refuses a sling in
// doubt. Two stories of one sling that have not been joined are a doubt as well.
//
// Order is by parents, ties by hash, never by arrival or clock: [FoldSling]
// gives one result for one set of events, however they came in. [Sling.Apply]
// adds one event to a folded story and equals the whole fold when the event's
// parents are the story's heads; [Sling.Follows] says whether that is so.
package state
