package api

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"hash"
	"io"
	"iter"
	"mime/multipart"
	"net/http"
	"os"
	"strings"

	"github.com/gin-gonic/gin"

	"partwright/musicxml/archive"
	"partwright/worker/batch"
	"partwright/worker/files"
	"partwright/worker/request"
	"partwright/worker/settings"
)

// CreateBatch serves POST /v1/batches.
func (h *handlers) CreateBatch(c *gin.Context, params CreateBatchParams) {
	h.withBatches(c, func(ctx context.Context, s *batch.Service, organization string) error {
		r := &request.Batch{}
		spool, err := h.spool(c, h.formFields(c, r))
		if err != nil {
			return err
		}
		defer spool.close()
		if err := h.parse(c, spool.fields, func() error { return h.bind(c, r, spool.fields) }); err != nil {
			return err
		}
		values, err := h.options(c, spool.fields)
		if err != nil {
			return err
		}
		b, err := s.Create(ctx, batch.Order{
			Organization: organization, Readable: true, Request: r, Open: values.Get("open") == "true" || len(spool.files) == 0,
			Items: spool.items(h.config.Archives, r.Labels == request.Beside),
			Key:   batch.Key{Value: idempotencyKey(params.IdempotencyKey), Fingerprint: spool.fingerprint()},
		})
		if err != nil {
			return err
		}
		return h.writeAccepted(c, batchAddress(b.ID), batchView(&batch.Status{Batch: b}))
	})
}

// AddScore serves POST /v1/batches/{batch}/scores.
func (h *handlers) AddScore(c *gin.Context, id BatchPath, params AddScoreParams) {
	h.withBatches(c, func(ctx context.Context, s *batch.Service, organization string) error {
		// Before the body is read: it may be for nothing.
		if _, err := s.Status(ctx, organization, id); err != nil {
			return err
		}
		up, err := h.receive(underlying(c.Writer), c.Request, h.bodyTypes(c), labelsField)
		if err != nil {
			return err
		}
		defer up.release()
		print := newFingerprint(c)
		printPart(print, up.Name, "")
		_, _ = print.Write(up.Data)
		if field, ok := up.fields["labels"]; ok {
			printPart(print, "labels", field.text)
			err := h.parse(c, up.fields, func() (err error) {
				up.Labels, err = settings.ReadLabels(fileOf("labels", field), []byte(field.text))
				return err
			})
			if err != nil {
				return err
			}
		}
		key := batch.Key{Value: idempotencyKey(params.IdempotencyKey), Fingerprint: hex.EncodeToString(print.Sum(nil))}
		number, err := s.Add(ctx, organization, id, up.Input, key)
		if err != nil {
			return err
		}
		return h.writeAccepted(c, scoreAddress(id, number), AddedScore{Number: number})
	})
}

// idempotencyKey takes the quotation marks off that the draft asks for (a string
// of RFC 9651) and that many clients leave out.
func idempotencyKey(header string) string {
	if len(header) > 1 && strings.HasPrefix(header, `"`) && strings.HasSuffix(header, `"`) {
		return header[1 : len(header)-1]
	}
	return header
}

// spooled is an upload on its way: files one after the other in a file that
// nobody else can open.
type spooled struct {
	file   *os.File
	size   int64
	files  []spooledFile
	fields map[string]fieldValue
	print  hash.Hash
}

type spooledFile struct {
	name         string
	offset, size int64
}

// spool reads the body of a request to disk: an archive needs not fit into memory.
func (h *handlers) spool(c *gin.Context, fields fieldSizes) (_ *spooled, err error) {
	s := &spooled{fields: map[string]fieldValue{}, print: newFingerprint(c)}
	if c.Request.ContentLength == 0 && c.GetHeader("Content-Type") == "" {
		return s, nil
	}
	mediaType, err := bodyType(c.Request, h.bodyTypes(c))
	if err != nil {
		return nil, err
	}
	if c.Request.ContentLength > h.config.MaxBatchUpload {
		return nil, &http.MaxBytesError{Limit: h.config.MaxBatchUpload}
	}
	if s.file, err = os.CreateTemp(h.config.SpoolDir, "upload-*"); err != nil {
		return nil, fmt.Errorf("keeping an upload: %w", err)
	}
	_ = os.Remove(s.file.Name()) // the open file goes on; elsewhere close removes it
	defer func() {
		if err != nil {
			s.close()
		}
	}()
	w := underlying(c.Writer)
	c.Request.Body = http.MaxBytesReader(w, c.Request.Body, h.config.MaxBatchUpload)
	body := newDeadlineBody(w, c.Request.Body, h.config.StallTimeout, h.config.BatchUploadTimeout)
	body.closing = &h.closing
	c.Request.Body = body
	if mediaType == "multipart/form-data" {
		err = s.form(c.Request, fields)
	} else {
		err = s.keep(nameIn(c.GetHeader("Content-Disposition")), body)
	}
	if err == nil {
		body.done()
	}
	return s, err
}

func (s *spooled) keep(name string, from io.Reader) error {
	printPart(s.print, name, "")
	n, err := io.Copy(io.MultiWriter(s.file, s.print), from)
	if err != nil {
		return err
	}
	// A named file without content is a score that fails; without a name it is a
	// field left blank, or no body at all.
	if n > 0 || name != "" {
		s.files = append(s.files, spooledFile{name, s.size, n})
	}
	s.size += n
	return nil
}

// maxBatchParts bounds the parts of a form.
const maxBatchParts = 10_000

func (s *spooled) form(r *http.Request, fields fieldSizes) error {
	form, err := r.MultipartReader()
	if err != nil {
		return refuse(malformedForm, "The header Content-Type names no boundary.")
	}
	for parts := 0; ; parts++ {
		part, err := form.NextPart()
		if err == io.EOF { //nolint:errorlint // a wrapped EOF is a form that broke off
			return nil
		}
		if err == nil && parts == maxBatchParts {
			err = refuse(malformedForm, fmt.Sprintf("The form has more than %d parts.", maxBatchParts))
		}
		if err == nil {
			err = s.part(part, fields)
		}
		if err != nil {
			return formError(err)
		}
	}
}

func (s *spooled) part(part *multipart.Part, fields fieldSizes) error {
	if part.FormName() == "score" {
		return s.keep(nameIn(part.Header.Get("Content-Disposition")), part)
	}
	if err := receiveField(s.fields, part, fields); err != nil {
		return err
	}
	printPart(s.print, part.FormName(), s.fields[part.FormName()].text)
	return nil
}

// labelsField makes room for labels that come with a score.
var labelsField = fieldSizes{"labels": settings.MaxBytes}

// items yields the scores of the upload, those of archives under their paths, with
// the labels beside them if the request has that option.
func (s *spooled) items(limits archive.Limits, beside bool) iter.Seq[files.Item] {
	return func(yield func(files.Item) bool) {
		labels := s.labels(beside)
		for _, f := range s.files {
			section := s.section(f)
			if !archive.IsArchive(f.name, section, f.size, limits) {
				item := files.Item{Name: f.name, Labels: labels.Beside(f.name), Read: func() ([]byte, error) {
					// One byte more than a score may have shows that it has too many.
					return io.ReadAll(io.LimitReader(section, limits.Bytes+1))
				}}
				if beside && files.IsLabels(f.name) {
					continue
				}
				if !yield(item) {
					return
				}
				continue
			}
			inner := files.Archive{Content: section, Size: f.size, Limits: limits, Beside: beside}
			if len(s.files) > 1 {
				inner.Name = f.name // two may hold scores of one name
			}
			for item := range inner.Items() {
				if !yield(item) {
					return
				}
			}
		}
	}
}

func (s *spooled) section(f spooledFile) *io.SectionReader {
	return io.NewSectionReader(s.file, f.offset, f.size)
}

// labels are the files of the form that may lie beside scores, nil for none.
func (s *spooled) labels(beside bool) *files.LabelFiles {
	if !beside {
		return nil
	}
	all := &files.LabelFiles{}
	for _, f := range s.files {
		if files.IsLabels(f.name) {
			data, err := io.ReadAll(io.LimitReader(s.section(f), settings.MaxBytes+1))
			all.Add(f.name, f.name, data, err)
		}
	}
	return all
}

func (s *spooled) close() {
	if s.file != nil {
		_ = s.file.Close()
		_ = os.Remove(s.file.Name())
	}
}

func (s *spooled) fingerprint() string { return hex.EncodeToString(s.print.Sum(nil)) }

// newFingerprint begins the fingerprint of a request with its address. The
// boundary of a form, which differs each time, is not part of it.
func newFingerprint(c *gin.Context) hash.Hash {
	print := sha256.New()
	printPart(print, c.Request.Method+" "+c.Request.URL.Path, c.Request.URL.Query().Encode())
	return print
}

// printPart adds a name and a value so that no other two look the same.
func printPart(print hash.Hash, name, value string) {
	_, _ = fmt.Fprintf(print, "%q=%q\n", name, value) // a hash takes everything
}
