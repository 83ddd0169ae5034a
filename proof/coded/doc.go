// Package coded decodes still pictures that are coded by HEVC.
//
// It gives the planes of luma and colour differences as they were coded; what they
// mean in colour, and how pictures are put together from several, is package photo's.
//
// The decoder, libde265, is a C++ library and runs as WebAssembly: it sees the memory
// that it was given and nothing else, asks nothing of the system, may be stopped at any
// time, and cannot harm the program whatever a file makes it do. The folder build holds
// what makes hevc.wasm out of its source, so that anyone can exchange it (LGPL-3). The build tag
// noheic leaves it out.
//
// Source: ITU-T H.265; the units of ISO/IEC 14496-15.
package coded
