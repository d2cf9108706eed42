package journal

import (
	"context"
	"errors"
	"fmt"

	"github.com/redis/go-redis/v9"
)

// Uploaded returns the id under which the platform holds a file that was
// handed to it but stands nowhere yet; empty when there is none.
func (j *Journal) Uploaded(ctx context.Context, key Key, file string) (id string, err error) {
	keys, err := j.keys(key)
	if err != nil {
		return "", err
	}
	id, err = j.rdb.HGet(ctx, keys.uploads, file).Result()
	if err != nil && !errors.Is(err, redis.Nil) {
		return "", fmt.Errorf("read where %s of kickoff %s was uploaded: %w", file, key.Kickoff, err)
	}
	return id, nil
}

// MarkUploaded notes under which id the platform holds a file. Several files
// are shared at once, so one that could not be uploaded must not cost the
// others a second time.
func (j *Journal) MarkUploaded(ctx context.Context, key Key, file, id string) error {
	keys, err := j.keys(key)
	if err != nil {
		return err
	}
	if err := j.rdb.HSet(ctx, keys.uploads, file, id).Err(); err != nil {
		return fmt.Errorf("note where %s of kickoff %s was uploaded: %w", file, key.Kickoff, err)
	}
	return nil
}

// ForgetUploads forgets files: they stand where they should, or the platform
// does not know them any more.
func (j *Journal) ForgetUploads(ctx context.Context, key Key, files ...string) error {
	keys, err := j.keys(key)
	if err != nil {
		return err
	}
	if err := j.rdb.HDel(ctx, keys.uploads, files...).Err(); err != nil {
		return fmt.Errorf("forget uploads of kickoff %s: %w", key.Kickoff, err)
	}
	return nil
}
