// Package rank compares ways to print one picture: papers by rendering intents
// by black point compensation. For each it computes figures, puts them in order
// by a rule that is shown, and says in words why the first is first and what
// speaks against it.
//
//	papers, intents, compensation ──▶ Ways ─┐
//	picture, pins ──▶ Gather ──▶ Picture ───┴▶ Compute ──▶ figures, order, verdict
//
// A [Picture] holds what is to be converted; [Compute] converts it by the engine's
// exact chains, and an [Eval] stands for one of them:
//
//	picture ──▶ its colours, counted at full size ──▶ Eval ──▶ shares, means, separation
//	        ──▶ reduced picture (neighbours kept) ──▶ Eval ──▶ smoothness
//	        ──▶ pins                              ──▶ Eval ──▶ hue of pins
//
// Colours are CIELAB under D50, the original against the print's relative look.
// Nothing is random: the same picture and candidates give the same order.
package rank
