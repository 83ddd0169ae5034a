// Package session holds what the window shows and decides what has to be
// computed for it. It knows nothing of the toolkit that draws.
//
//	widget event -> Action -> Reduce -> State -> request -> result -> Action
//
// State is one comparable value: no slices, no maps, no pictures. Whatever is
// bulky (pixels, profiles, finished buffers) lies in the Store under a key that
// State names. Reduce is pure. The Runner compares what State asks for with what
// is at hand, starts the work, cancels what nobody waits for any more and posts
// results back as Actions that carry the number of their request; Reduce drops
// a result whose number is old, so that a late one can never overwrite a newer.
package session
