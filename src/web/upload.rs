//! What comes with a form that carries a file: its fields, and the file's bytes.

use axum::extract::multipart::{Multipart, MultipartError, MultipartRejection};
use axum::http::StatusCode;

use crate::units::Faults;
use crate::web::error::Error;
use crate::web::form::Fields;

/// A form as it is sent with a file.
pub(super) type Sent = Result<Multipart, MultipartRejection>;

/// The parts of a form with a file.
#[derive(Debug, Default)]
pub(super) struct Upload {
    parts: Vec<(String, Vec<u8>)>,
}

impl Upload {
    /// Reads a form; each part has at most `largest` bytes.
    pub(super) async fn read(form: Sent, largest: usize) -> Result<Self, Error> {
        let unread = |cause: &MultipartError| {
            if cause.status() == StatusCode::PAYLOAD_TOO_LARGE {
                Error::TooLarge
            } else {
                Faults::one("file", cause.body_text(), "a file sent whole").into()
            }
        };
        let mut form =
            form.map_err(|cause| Faults::one("file", cause.body_text(), "the form of the page"))?;
        let mut parts = Vec::new();
        while let Some(field) = form.next_field().await.map_err(|cause| unread(&cause))? {
            let name = field.name().unwrap_or_default().to_owned();
            let bytes = field.bytes().await.map_err(|cause| unread(&cause))?;
            if bytes.len() > largest {
                return Err(Error::TooLarge);
            }
            parts.push((name, bytes.to_vec()));
        }
        Ok(Self { parts })
    }

    /// The bytes of a part; none where it is not there.
    pub(super) fn bytes(&self, name: &str) -> &[u8] {
        self.parts
            .iter()
            .find(|(held, _)| held == name)
            .map_or(&[], |(_, bytes)| bytes.as_slice())
    }

    /// What was chosen as `file`, or where nothing was, what was typed into `text`.
    pub(super) fn file_or(&self, file: &str, text: &str) -> &[u8] {
        let chosen = self.bytes(file);
        if chosen.is_empty() {
            self.bytes(text)
        } else {
            chosen
        }
    }

    /// A text in UTF-8.
    pub(super) fn text_of(bytes: &[u8]) -> Result<String, Error> {
        String::from_utf8(bytes.to_vec()).map_err(|_| {
            Faults::one("file", "is not in UTF-8", "the file saved as text in UTF-8").into()
        })
    }

    /// The typed fields, with the texts of the named files in place of the field they stand for.
    pub(super) fn fields(&self, files: &[(&str, &str)]) -> Result<Fields, Error> {
        let mut typed = Vec::new();
        for (name, bytes) in &self.parts {
            if files.iter().any(|(file, _)| file == name) {
                continue;
            }
            let standing = files.iter().find(|(_, field)| field == name);
            let bytes =
                standing.map_or(bytes.as_slice(), |(file, field)| self.file_or(file, field));
            typed.push((name.clone(), Self::text_of(bytes)?));
        }
        Ok(Fields::of(typed))
    }
}
