// Package crib plays the history of a crib that does not exist: invented
// people in an invented place lend, take back, inspect and lose slings, and
// what they do is written into a register, so that there is something to look
// at, to teach with and to measure.
//
// [Build] founds the register and plays. The history is not thrown together:
// each sling's present is kept by the fold of core/state, each issue and each
// refusal is what core/gate answered to the question put that day, and nobody
// does what the present would not let them do. One seed, one day and one size
// give one history.
//
// Names of people, place and makers' marks are invented. The keys of such a
// register are made from the seed, which everybody knows: its tags prove
// nothing, and it must never keep a real crib.
package crib
