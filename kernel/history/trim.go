package history

import (
	"bufio"
	"errors"
	"os"
)

// trim drops the older half of a file that has grown too large: it writes the rest into a file beside it, which
// then takes its place. It is called with the file locked; who waits for the lock finds that the file
// has been replaced, and opens it again.
func (s *Store) trim(f *os.File) error {
	info, err := f.Stat()
	if err != nil || info.Size() <= mostBytes {
		return err
	}
	if _, err := f.Seek(info.Size()-mostBytes/2, 0); err != nil {
		return err
	}
	rest := bufio.NewReader(f)
	if _, err := rest.ReadSlice('\n'); err != nil && !errors.Is(err, bufio.ErrBufferFull) {
		return nil // one endless line; the next session may mend it
	}
	beside := s.path + ".new"
	out, err := os.OpenFile(beside, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	_, err = rest.WriteTo(out)
	if err = errors.Join(err, out.Sync(), out.Close()); err == nil {
		err = os.Rename(beside, s.path)
	}
	if err != nil {
		os.Remove(beside)
	}
	return err
}
