// Package widget holds the controls that the toolkit has no match for. They are
// drawn in the theme's neutral greys, never keep the keyboard after a click (so
// that the desk's single keys go on working), can be reached by Tab, and pass on
// keys that mean nothing to them.
package widget
