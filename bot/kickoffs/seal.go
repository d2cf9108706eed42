package kickoffs

import (
	"bytes"
	"context"
	"crypto/aes"
	"crypto/cipher"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"soundings/bot/journal"
	"soundings/flows/event"
	"soundings/flows/state"
)

// What goes into a box of ballots is sealed as a whole, the name and the time
// with it, by a key that stands in the journal until the box is emptied. What
// is kept of it then cannot be told from noise. See package flows.

// shut is how a snapshot is written that is sealed.
type shut struct {
	Box    string `json:"box"`
	Sealed []byte `json:"sealed"`
}

func aead(key []byte) (cipher.AEAD, error) {
	block, err := aes.NewCipher(key)
	if err != nil {
		return nil, err
	}
	return cipher.NewGCMWithRandomNonce(block)
}

func seal(key []byte, box string, data []byte) ([]byte, error) {
	sealer, err := aead(key)
	if err != nil {
		return nil, fmt.Errorf("seal for the box %s: %w", box, err)
	}
	return sealer.Seal(nil, nil, pack(data), []byte(box)), nil
}

// unseal gives what was sealed, where the key of its box is among keys.
func unseal(keys map[string][]byte, box string, sealed []byte) ([]byte, bool) {
	key, known := keys[box]
	if !known {
		return nil, false
	}
	opener, err := aead(key)
	if err != nil {
		return nil, false
	}
	packed, err := opener.Open(nil, nil, sealed, []byte(box))
	if err != nil {
		return nil, false
	}
	return unpack(packed), true
}

// packedSize is what the size of everything packed is a multiple of. Most
// ballots fill one, so that their size does not tell what is in them. With what
// sealing adds it comes out even in base 64.
const packedSize = 68

// ballotWords are what most ballots consist of, each with the byte that stands
// for it when it is packed: one that JSON does not hold. They are part of the
// format and never change.
var ballotWords = []string{
	`{"box":"framing/`, "\x01", `{"box":"rating/`, "\x02", `{"box":"timebox/`, "\x03", `{"box":"checkin/`, "\x04", `{"box":"decision/`, "\x05",
	`","at":"`, "\x06", `Z","by":"`, "\x07",
	`","events":[{"kind":"rated","data":{"Round":`, "\x08", `,"Assumption":"`, "\x0b",
	`","Scale":"importance","Value":`, "\x0c", `","Scale":"evidence","Value":`, "\x0e", `}}]}`, "\x0f",
	`","events":[{"kind":"finished-stage","data":{"Stage":"`, "\x10", `}},{"kind":"finished-stage","data":{"Stage":"`, "\x11",
	`","events":[{"kind":"framing-voted","data":{"Level":`, "\x12", `,"Ticks":[`, "\x13",
	`","events":[{"kind":"weeks-voted","data":{"Weeks":`, "\x14",
	`","events":[{"kind":"evidence-rerated","data":{"Evidence":{`, "\x15",
	`","events":[{"kind":"confidence-voted","data":{"Confidence":`, "\x16",
	`","events":[{"kind":"decision-voted","data":{"Choice":"`, "\x17", `","Weeks":`, "\x18",
	`","events":[{"kind":"outlook-voted","data":{"`, "\x19", `}},{"kind":"weeks-voted","data":{"Weeks":`, "\x1a",
}

var packer, unpacker = strings.NewReplacer(ballotWords...), strings.NewReplacer(reversed(ballotWords)...)

func reversed(words []string) []string {
	out := slices.Clone(words)
	slices.Reverse(out)
	return out
}

// pack makes JSON small, and fills it up to the next multiple of packedSize.
func pack(data []byte) []byte {
	packed := []byte(packer.Replace(string(data)))
	return append(packed, make([]byte, (packedSize-len(packed)%packedSize)%packedSize)...)
}

func unpack(packed []byte) []byte {
	return []byte(unpacker.Replace(string(bytes.TrimRight(packed, "\x00"))))
}

// encode writes a record as the journal keeps it. It gives the key with which
// the record was sealed, if it was.
func (s *Store) encode(ctx context.Context, key journal.Key, keys map[string][]byte, r event.Record) (data, with []byte, err error) {
	data, err = r.MarshalJSON()
	if err != nil || r.Box == "" {
		return data, nil, err
	}
	if with = keys[r.Box]; with == nil {
		with, err = s.Journal.Boxes.Key(ctx, key, r.Box)
	}
	if errors.Is(err, journal.ErrEmptied) {
		err = fmt.Errorf("%w: %w", journal.ErrConflict, err) // read again, decide again
	}
	if err != nil {
		return nil, nil, err
	}
	sealed, err := seal(with, r.Box, data)
	if err != nil {
		return nil, nil, err
	}
	data, err = event.Record{Box: r.Box, Sealed: sealed}.MarshalJSON()
	return data, with, err
}

// decode reads entries, those opened to which keys fit. It names the boxes of
// the others.
func decode(entries []journal.Entry, keys map[string][]byte) (records []event.Record, closed map[string]bool, err error) {
	records, closed = make([]event.Record, len(entries)), map[string]bool{}
	for i, e := range entries {
		r := &records[i]
		// By itself: json.Unmarshal would go over all of it once more before.
		err := r.UnmarshalJSON(e.Data)
		if err == nil && len(r.Sealed) > 0 {
			box := r.Box
			if data, opened := unseal(keys, box, r.Sealed); !opened {
				closed[box] = true
			} else if err = r.UnmarshalJSON(data); err == nil {
				r.Box = box
			}
		}
		if err != nil {
			return nil, nil, &unreadableError{e.Version, err}
		}
	}
	return records, closed, nil
}

// Unsealed gives entries as their writers meant them, as far as the keys of boxes are
// there, and what seals the data that shall stand in the place of one of them.
func (s *Store) Unsealed(ctx context.Context, key journal.Key, entries []journal.Entry) (opened []journal.Entry, again func(at int, data []byte) ([]byte, error), err error) {
	keys, err := s.Journal.Boxes.Keys(ctx, key)
	if err != nil {
		return nil, nil, err
	}
	opened = slices.Clone(entries)
	boxes := make([]string, len(entries))
	for i, e := range entries {
		var r event.Record
		if err := r.UnmarshalJSON(e.Data); err != nil {
			return nil, nil, &unreadableError{e.Version, err}
		}
		if data, ok := unseal(keys, r.Box, r.Sealed); ok && len(r.Sealed) > 0 {
			opened[i].Data, boxes[i] = data, r.Box
		}
	}
	return opened, func(at int, data []byte) ([]byte, error) {
		if boxes[at] == "" {
			return data, nil
		}
		sealed, err := seal(keys[boxes[at]], boxes[at], data)
		if err != nil {
			return nil, err
		}
		return event.Record{Box: boxes[at], Sealed: sealed}.MarshalJSON()
	}, nil
}

// noise stands for what was sealed with a key that is gone, once the kickoff has
// ended: nobody can open one or the other.
var noise = []byte{0}

// Pack packs the record of a kickoff that has ended. Of ballots that were counted
// only their places stay; even the size of what was sealed goes.
func (s *Store) Pack(ctx context.Context, key journal.Key) error {
	keys, err := s.Journal.Boxes.Keys(ctx, key)
	if err != nil {
		return err
	}
	return s.Journal.Pack(ctx, key, func(data []byte) ([]byte, error) {
		var r event.Record
		if err := r.UnmarshalJSON(data); err != nil {
			return nil, err
		}
		if _, open := keys[r.Box]; open || len(r.Sealed) == 0 {
			return data, nil
		}
		return event.Record{Box: r.Box, Sealed: noise}.MarshalJSON()
	})
}

// An unreadableError is an entry that this release cannot read: it is of a newer
// one, or broken.
type unreadableError struct {
	version int64
	err     error
}

func (e *unreadableError) Error() string { return fmt.Sprintf("read entry %d: %v", e.version, e.err) }
func (e *unreadableError) Unwrap() error { return e.err }

// unreadable reports whether a kickoff cannot be read by this release, which trying
// again does not mend.
func unreadable(err error) bool {
	_, is := errors.AsType[*unreadableError](err)
	return is || errors.Is(err, journal.ErrForeign) || errors.Is(err, journal.ErrGap)
}

// fold is a state after further entries. What is in boxes that were emptied
// since stays shut, and matters no more.
func (s *Store) fold(ctx context.Context, key journal.Key, st folded, entries []journal.Entry) (folded, []event.Record, error) {
	if len(entries) == 0 {
		return st, nil, nil
	}
	now, records, closed, err := st.fold(entries)
	if err != nil || !takes(now.Kickoff, closed) {
		return now, records, err
	}
	if st.keys, err = s.Journal.Boxes.Keys(ctx, key); err != nil {
		return st, nil, err
	}
	now, records, closed, err = st.fold(entries)
	if now.blind = takes(now.Kickoff, closed); now.blind {
		s.Logger.Warn("ballots cannot be opened: they are being counted, or Redis has lost their key", "kickoff", key.Kickoff, "version", now.Version)
	}
	return now, records, err
}

// takes reports whether one of these boxes still takes ballots.
func takes(k state.Kickoff, boxes map[string]bool) bool {
	for box := range boxes {
		if event.TakesBallots(&k, box) {
			return true
		}
	}
	return false
}

// snapshot writes a state as it is kept, sealed so that it takes the key of each box
// that it shows to read it; nil where one of them has no key.
func (st folded) snapshot() ([]byte, error) {
	data, err := json.Marshal(st.Kickoff)
	boxes := event.Boxes(&st.Kickoff)
	if err != nil || len(boxes) == 0 {
		return data, err
	}
	key, known := keyOfAll(st.keys, boxes)
	if !known {
		return nil, nil
	}
	sealed, err := seal(key, strings.Join(boxes, " "), data)
	if err != nil {
		return nil, err
	}
	return json.Marshal(shut{strings.Join(boxes, " "), sealed})
}

// keyOfAll is a key that nobody has who lacks the key of one of the boxes. One
// sealing after the other would come to the same, and make a state grow by a third
// with each.
func keyOfAll(keys map[string][]byte, boxes []string) (key []byte, known bool) {
	if len(boxes) == 1 {
		key, known = keys[boxes[0]]
		return key, known
	}
	sum := sha256.New()
	for _, box := range boxes {
		key, known := keys[box]
		if !known {
			return nil, false
		}
		fmt.Fprintf(sum, "%s %d ", box, len(key))
		sum.Write(key)
	}
	return sum.Sum(nil), true
}

// readSnapshot undoes snapshot. An older release sealed once for each box.
func readSnapshot(data []byte, keys map[string][]byte) (k state.Kickoff, err error) {
	for bytes.HasPrefix(data, []byte(`{"box":`)) {
		var s shut
		if err := json.Unmarshal(data, &s); err != nil {
			return k, err
		}
		key, known := keyOfAll(keys, strings.Fields(s.Box))
		if known {
			data, known = unseal(map[string][]byte{s.Box: key}, s.Box, s.Sealed)
		}
		if !known {
			return k, fmt.Errorf("the boxes %s are shut", s.Box)
		}
	}
	err = json.Unmarshal(data, &k)
	return k, err
}

// current are the keys of the boxes that still take ballots.
func current(k state.Kickoff, keys map[string][]byte) map[string][]byte {
	for box := range keys {
		if !event.TakesBallots(&k, box) {
			keys = maps.Clone(keys)
			maps.DeleteFunc(keys, func(box string, _ []byte) bool { return !event.TakesBallots(&k, box) })
			break
		}
	}
	return keys
}

// DestroyKeys destroys the keys of the boxes of a kickoff that were emptied.
func (s *Store) DestroyKeys(ctx context.Context, key journal.Key) error {
	k, err := s.Load(ctx, key)
	if err != nil {
		return err
	}
	return s.Journal.Boxes.Destroy(ctx, key, event.EmptiedBoxes(&k)...)
}
