package paper

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"firstsheet/proof"
	"firstsheet/proof/icc"
)

// ReadProfile reads the ICC profile in the file at path, whatever its class: a
// paper's, a picture's or a screen's. It is called by its own description.
//
// The error is a *FileError when there is no such ordinary file of a fitting size,
// and a *proof.ProfileError naming the path when its content is no sound profile.
func ReadProfile(path string) (*proof.Profile, error) {
	data, err := readFile(path)
	if err != nil {
		return nil, err
	}
	p, err := proof.NewProfile("", data)
	if err != nil {
		return nil, naming(path, err)
	}
	return p, nil
}

// naming puts the path into a profile's error in place of its description: the
// person knows the file.
func naming(path string, err error) error {
	e, ok := errors.AsType[*proof.ProfileError](err)
	if !ok {
		return err
	}
	return &proof.ProfileError{Op: e.Op, Profile: path, Kind: e.Kind, Err: e.Err}
}

func readFile(path string) ([]byte, error) {
	fail := func(k Kind, err error) ([]byte, error) {
		// The path is said once, by FileError.
		if pe, ok := errors.AsType[*fs.PathError](err); ok {
			err = pe.Err
		}
		return nil, &FileError{path, k, err}
	}
	// Asked before opening: to open a pipe would wait for its other end.
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fail(NotFound, err)
	case err != nil:
		return fail(NotReadable, err)
	case info.IsDir():
		return fail(NotReadable, errors.New("it is a folder"))
	case !info.Mode().IsRegular():
		return fail(NotReadable, errors.New("it is not an ordinary file"))
	case info.Size() == 0:
		return fail(Empty, errors.New("it has 0 bytes"))
	case info.Size() > icc.MaxSize:
		return fail(TooLarge, fmt.Errorf("it has %d bytes, and a profile at most %d", info.Size(), icc.MaxSize))
	}
	f, err := os.Open(path)
	if err != nil {
		return fail(NotReadable, err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, icc.MaxSize+1)) // it may have grown meanwhile
	if err != nil {
		return fail(NotReadable, err)
	}
	return data, nil
}
