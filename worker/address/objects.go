package address

import (
	"context"
	"errors"
	"io"
	"iter"
	"net/url"
	"os"
	"path"
	"strings"
	"sync"
	"time"

	"github.com/minio/minio-go/v7"
	"github.com/minio/minio-go/v7/pkg/credentials"

	"partwright/musicxml/container"
)

// objects keep things in S3-compatible storage.
type objects struct {
	config Config
	once   sync.Once
	client *minio.Core
	// writer sends each request once.
	writer *minio.Core
	err    error
}

// defaultEndpoint is where objects lie unless a variable says something else.
const defaultEndpoint = "https://s3.amazonaws.com"

// connect makes the clients of what the environment says, once. It sends nothing.
func (o *objects) connect() error {
	o.once.Do(func() {
		if o.client, o.err = newClient(o.config); o.err == nil {
			once := o.config
			once.Tries = 1
			o.writer, o.err = newClient(once)
		}
	})
	return o.err
}

func newClient(c Config) (*minio.Core, error) {
	endpoint, err := url.Parse(fromEnvironment(defaultEndpoint, "AWS_ENDPOINT_URL_S3", "AWS_ENDPOINT_URL"))
	if err != nil || endpoint.Host == "" || endpoint.Scheme != "http" && endpoint.Scheme != "https" {
		// The text is not repeated: it may hold a password.
		return nil, errors.New("AWS_ENDPOINT_URL is no address of a server: say https://HOST or http://HOST")
	}
	secure := endpoint.Scheme == "https"
	transport, err := minio.DefaultTransport(secure)
	if err != nil {
		return nil, err
	}
	transport.ResponseHeaderTimeout = c.Timeout
	return minio.NewCore(endpoint.Host, &minio.Options{
		Creds: credentials.NewChainCredentials([]credentials.Provider{
			&credentials.EnvAWS{}, &credentials.FileAWSCredentials{}, &credentials.IAM{},
		}),
		Secure:     secure,
		Transport:  transport,
		Region:     fromEnvironment("", "AWS_REGION", "AWS_DEFAULT_REGION"),
		MaxRetries: c.Tries,
	})
}

// fromEnvironment returns the first variable that is set, else the default.
func fromEnvironment(otherwise string, variables ...string) string {
	for _, v := range variables {
		if value := os.Getenv(v); value != "" {
			return value
		}
	}
	return otherwise
}

// at takes an address apart, and connects.
func (o *objects) at(address string) (client *minio.Core, bucket, key string, err error) {
	bucket, key, _ = strings.Cut(strings.TrimPrefix(address, objectScheme), "/")
	if err = o.connect(); err != nil {
		return nil, "", "", &Error{Address: address, Err: err}
	}
	if bucket == "" {
		return nil, "", "", &Error{Address: address, Err: errors.New("the address names no bucket: say s3://BUCKET/KEY")}
	}
	return o.client, bucket, key, nil
}

// failedObject makes the error of an object. What the server refuses, or does not have,
// stays so; everything else may pass.
func failedObject(ctx context.Context, address string, err error) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	var said minio.ErrorResponse
	refused := errors.As(err, &said) && (said.StatusCode >= 300 && said.StatusCode < 500 || isRefusal(said.Code)) &&
		said.StatusCode != 408 && said.StatusCode != 429
	// The text of a failed request has the address of the server, and what was asked.
	var request *url.Error
	if errors.As(err, &request) {
		err = request.Err
	}
	return &Error{Address: address, Retryable: !refused, Err: err}
}

// isRefusal knows the refusals that the client makes itself, without asking the server.
func isRefusal(code string) bool {
	switch code {
	case minio.NoSuchKey, minio.NoSuchBucket, minio.AccessDenied, minio.InvalidArgument, minio.InvalidBucketName:
		return true
	}
	return false
}

// Read implements [Storage].
func (o *objects) Read(ctx context.Context, address string, limit int64) ([]byte, error) {
	client, bucket, key, err := o.at(address)
	if err != nil {
		return nil, err
	}
	var data []byte
	for try := range o.config.Tries {
		var broke bool
		data, broke, err = o.readOnce(ctx, client, bucket, key, limit)
		if err == nil {
			return data, nil
		}
		if !broke || ctx.Err() != nil {
			break // a request that fails was sent again by the client
		}
		pause(ctx, try)
	}
	return nil, failedObject(ctx, address, err)
}

// readOnce reads an object; broke tells that it is to be read again: it broke off,
// or did not come in time.
func (o *objects) readOnce(ctx context.Context, client *minio.Core, bucket, key string, limit int64) (data []byte, broke bool, err error) {
	try, cancel := context.WithTimeout(ctx, o.config.Timeout)
	defer cancel()
	body, info, _, err := client.GetObject(try, bucket, key, minio.GetObjectOptions{})
	if err != nil {
		return nil, try.Err() != nil, err
	}
	defer func() { _ = body.Close() }()
	if data, err = readAll(body, info.Size, limit); err != nil {
		return nil, true, err
	}
	if info.Size >= 0 && int64(len(data)) < min(info.Size, limit+1) {
		return nil, true, io.ErrUnexpectedEOF
	}
	return data, false, nil
}

// Has implements [Storage].
func (o *objects) Has(ctx context.Context, address string) (bool, error) {
	client, bucket, key, err := o.at(address)
	if err != nil {
		return false, err
	}
	_, err = client.StatObject(ctx, bucket, key, minio.StatObjectOptions{})
	if minio.ToErrorResponse(err).Code == minio.NoSuchKey {
		return false, nil
	}
	if err != nil {
		return false, failedObject(ctx, address, err)
	}
	return true, nil
}

// List implements [Storage].
func (o *objects) List(ctx context.Context, folder, after string) iter.Seq2[string, error] {
	return func(yield func(string, error) bool) {
		client, bucket, prefix, err := o.at(folder)
		if err != nil {
			yield("", err)
			return
		}
		top := objectScheme + bucket + "/"
		last := strings.TrimPrefix(after, top)
		for try := range o.config.Tries {
			err = nil
			for object := range client.ListObjectsIter(ctx, bucket, minio.ListObjectsOptions{Prefix: prefix, Recursive: true, StartAfter: last}) {
				if err = object.Err; err != nil {
					break // after the last one it goes on
				}
				last = object.Key
				if strings.HasSuffix(last, "/") || container.IsHidden(path.Base(last)) {
					continue
				}
				if !yield(top+last, nil) {
					return
				}
			}
			if err == nil || !IsRetryable(failedObject(ctx, folder, err)) {
				break
			}
			pause(ctx, try)
		}
		if err == nil {
			err = ctx.Err()
		}
		if err != nil {
			yield("", failedObject(ctx, folder, err))
		}
	}
}

// Create implements [Storage].
func (o *objects) Create(_ context.Context, address string) (*Part, error) {
	_, bucket, key, err := o.at(address)
	if err != nil {
		return nil, err
	}
	f, err := os.CreateTemp(o.config.Spool, partPrefix+"*")
	if err != nil {
		return nil, &Error{Address: address, Retryable: true, Err: err}
	}
	return &Part{File: f, commit: func(ctx context.Context, f *os.File) (bool, error) {
		return o.put(ctx, o.writer, bucket, key, f, address)
	}}, nil
}

// put sends a file, whole, unless the storage has the object: it shows no object before
// its last byte has come. Of two that send at once one is told that it is there.
func (o *objects) put(ctx context.Context, client *minio.Core, bucket, key string, f *os.File, address string) (bool, error) {
	info, err := f.Stat()
	if err != nil {
		return false, &Error{Address: address, Retryable: true, Err: err}
	}
	// In one request, which a kill leaves nothing of; the storage takes 5 GiB so.
	options := minio.PutObjectOptions{ContentType: "application/octet-stream", DisableMultipart: true}
	options.SetMatchETagExcept("*")
	for try := range o.config.Tries {
		// The client would send again from one place in the file while what it sent before
		// is still read from it. Each try has a reader of its own.
		_, err = client.Client.PutObject(ctx, bucket, key, io.NewSectionReader(f, 0, info.Size()), info.Size(), options)
		if err == nil {
			return true, nil
		}
		if minio.ToErrorResponse(err).StatusCode == 412 {
			return false, nil
		}
		if !IsRetryable(failedObject(ctx, address, err)) {
			break
		}
		pause(ctx, try)
	}
	return false, failedObject(ctx, address, err)
}

// Remove implements [Storage]. The client sends it again where it fails.
func (o *objects) Remove(ctx context.Context, address string) error {
	client, bucket, key, err := o.at(address)
	if err != nil {
		return err
	}
	err = client.RemoveObject(ctx, bucket, key, minio.RemoveObjectOptions{})
	if err == nil || minio.ToErrorResponse(err).Code == minio.NoSuchKey {
		return nil
	}
	return failedObject(ctx, address, err)
}

// pause waits before the next try, longer each time, up to a second.
func pause(ctx context.Context, try int) {
	select {
	case <-ctx.Done():
	case <-time.After(min(minio.DefaultRetryUnit<<min(try, 10), minio.DefaultRetryCap)):
	}
}
