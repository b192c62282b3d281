//! The centre's own picture under a chart: taken, placed by two points, taken away.

use askama::Template;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Redirect, Response};
use imagesize::ImageType;

use crate::sea::backdrop::{Laid, Pixel, Tie, TieError};
use crate::sea::position::{LocalPlane, Position};
use crate::sea::typed::{self, Flaw};
use crate::store::register::{Backdrop, Picture, PictureKind, Site};
use crate::trip::SiteId;
use crate::units::bounds;
use crate::web::app::App;
use crate::web::desk::form::Shown;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{Asked, html, refused};
use crate::web::upload::{Sent, Upload};

use super::svg::picture_url;

/// Largest picture, bytes.
const LARGEST: usize = 5 * 1024 * 1024;
/// Most pixels along an edge: what tablets still decode.
const MOST_PX: usize = 12_000;
/// Fewest pixels along an edge.
const FEWEST_PX: usize = 100;

#[derive(Template)]
#[template(path = "desk/picture.html")]
struct PicturePage {
    frame: Frame,
    heading: String,
    url: String,
    f: Shown,
    picture: Option<Shape>,
    scale: String,
}

struct Shape {
    url: String,
    width: u32,
    height: u32,
}

impl Shape {
    fn wide(&self) -> i64 {
        i64::from(self.width)
    }

    fn high(&self) -> i64 {
        i64::from(self.height)
    }
}

fn shown_ties(mut f: Shown, ties: Option<[Tie; 2]>) -> Shown {
    for (nth, tie) in ties.into_iter().flatten().enumerate() {
        let n = nth + 1;
        f = f
            .with(&format!("x{n}"), tie.pixel.x.to_string())
            .with(&format!("y{n}"), tie.pixel.y.to_string())
            .with(&format!("at{n}"), typed::written(tie.position));
    }
    f
}

fn draw(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    (site, backdrop): (&Site, Option<&Backdrop>),
    f: Shown,
) -> Result<PicturePage, Error> {
    let mut frame = super::super::frame(app, asked, crew);
    f.mark(&mut frame);
    let laid = backdrop
        .and_then(|held| held.ties)
        .and_then(|ties| Laid::by(&LocalPlane::round(site.position), ties).ok());
    let picture = backdrop.map(|held| {
        Ok::<_, std::fmt::Error>(Shape {
            url: picture_url(site.id, &held.hash)?,
            width: held.width_px,
            height: held.height_px,
        })
    });
    let picture = picture
        .transpose()
        .map_err(|_| Error::Internal("an address was not written"))?;
    Ok(PicturePage {
        heading: frame
            .t
            .say_with("backdrop-title", &[("site", site.name.as_str().into())]),
        scale: laid.map_or_else(String::new, |laid| {
            let args = [("m", format!("{:.2}", laid.metres_a_pixel()).into())];
            frame.t.say_with("backdrop-placed", &args)
        }),
        frame,
        url: format!("/desk/sites/{}", site.id),
        f,
        picture,
    })
}

/// The picture, and where it lies.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<SiteId>,
) -> Result<Response, Error> {
    let site = super::site(&app, id).await?;
    let held = app.store().backdrop(id).await?;
    let f = shown_ties(Shown::plain(&app), held.as_ref().and_then(|one| one.ties));
    html(&draw(&app, &asked, &crew, (&site, held.as_ref()), f)?)
}

/// Reads what a picture is by its first bytes; the name of the file says nothing.
pub(in crate::web::desk) fn picture(fields: &Fields, bytes: &[u8]) -> Option<Picture> {
    let kind = match imagesize::image_type(bytes) {
        Ok(ImageType::Png) => Some(PictureKind::Png),
        Ok(ImageType::Jpeg) => Some(PictureKind::Jpeg),
        Ok(ImageType::Webp) => Some(PictureKind::Webp),
        Ok(_) | Err(_) => None,
    };
    let size = imagesize::blob_size(bytes).ok();
    let Some((kind, size)) = kind.zip(size) else {
        fields.fault("file", "backdrop-unread", &[]);
        return None;
    };
    let is_fit = |px: usize| (FEWEST_PX..=MOST_PX).contains(&px);
    let width_px = u32::try_from(size.width)
        .ok()
        .filter(|_| is_fit(size.width));
    let height_px = u32::try_from(size.height)
        .ok()
        .filter(|_| is_fit(size.height));
    let Some((width_px, height_px)) = width_px.zip(height_px) else {
        let args = [
            ("width", size.width.into()),
            ("height", size.height.into()),
            ("fewest", FEWEST_PX.into()),
            ("most", MOST_PX.into()),
        ];
        fields.fault("file", "backdrop-size", &args);
        return None;
    };
    Some(Picture {
        kind,
        width_px,
        height_px,
        bytes: bytes.to_vec(),
    })
}

/// Keeps a picture, in place of the one before.
pub async fn keep(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<SiteId>,
    form: Sent,
) -> Result<Response, Error> {
    let site = super::site(&app, id).await?;
    let sent = Upload::read(form, LARGEST).await?;
    let fields = Fields::default();
    if let Some(picture) = picture(&fields, sent.bytes("file")) {
        app.store().save_backdrop(id, &picture).await?;
        return Ok(Redirect::to(&format!("/desk/sites/{id}/picture")).into_response());
    }
    let held = app.store().backdrop(id).await?;
    let mut f = shown_ties(Shown::plain(&app), held.as_ref().and_then(|one| one.ties));
    f.faults = fields.faults();
    refused(&draw(&app, &asked, &crew, (&site, held.as_ref()), f)?)
}

fn position(fields: &Fields, site: Position, name: &str) -> Option<Position> {
    let key = match typed::place(site, fields.typed(name)) {
        Ok(at) => return Some(at),
        Err(Flaw::Unread) => "backdrop-unread-place",
        Err(Flaw::OutOfRange) => "backdrop-range",
        Err(Flaw::Swapped) => "backdrop-swapped",
        Err(Flaw::Far) => "backdrop-far",
    };
    fields.fault(name, key, &[]);
    None
}

fn tie(fields: &Fields, site: Position, n: usize) -> Option<Tie> {
    let x = fields.number(&format!("x{n}"), &bounds::PIXEL);
    let y = fields.number(&format!("y{n}"), &bounds::PIXEL);
    let position = position(fields, site, &format!("at{n}"));
    Some(Tie {
        pixel: Pixel { x: x?, y: y? },
        position: position?,
    })
}

/// Places the picture by its two points.
pub async fn place(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<SiteId>,
    fields: Fields,
) -> Result<Response, Error> {
    let site = super::site(&app, id).await?;
    let held = app.store().backdrop(id).await?.ok_or(Error::NotFound)?;
    let (one, other) = (
        tie(&fields, site.position, 1),
        tie(&fields, site.position, 2),
    );
    if let Some((one, other)) = one.zip(other) {
        let plane = LocalPlane::round(site.position);
        match Laid::by(&plane, [one, other]) {
            Ok(_) => {
                app.store().place_backdrop(id, [one, other]).await?;
                return Ok(Redirect::to(&format!("/desk/sites/{id}/picture")).into_response());
            }
            Err(TieError::Pixels | TieError::NotANumber) => {
                fields.fault("x2", "backdrop-pixels-near", &[]);
            }
            Err(TieError::Positions) => fields.fault("at2", "backdrop-places-near", &[]),
        }
    }
    let f = Shown::plain(&app).refused(&fields, fields.faults());
    refused(&draw(&app, &asked, &crew, (&site, Some(&held)), f)?)
}

/// Takes the picture away.
pub async fn remove(
    State(app): State<App>,
    _: Crew,
    Path(id): Path<SiteId>,
) -> Result<Response, Error> {
    if !app.store().remove_backdrop(id).await? {
        return Err(Error::NotFound);
    }
    Ok(Redirect::to(&format!("/desk/sites/{id}/picture")).into_response())
}

/// The bytes of a picture, under their hash: they never change there.
pub async fn bytes(
    State(app): State<App>,
    _: Crew,
    Path((id, hash)): Path<(SiteId, String)>,
) -> Result<Response, Error> {
    let hash = digest(&hash).ok_or(Error::NotFound)?;
    let (kind, bytes) = app
        .store()
        .backdrop_bytes(id, hash)
        .await?
        .ok_or(Error::NotFound)?;
    let kind = match kind {
        PictureKind::Png => "image/png",
        PictureKind::Jpeg => "image/jpeg",
        PictureKind::Webp => "image/webp",
    };
    let headers = [
        (header::CONTENT_TYPE, kind),
        (
            header::CACHE_CONTROL,
            "private, max-age=31536000, immutable",
        ),
    ];
    Ok((headers, bytes).into_response())
}

/// A hash out of 64 hexadecimal digits.
fn digest(text: &str) -> Option<[u8; 32]> {
    if text.len() != 64 || !text.bytes().all(|byte| byte.is_ascii_hexdigit()) {
        return None;
    }
    let mut hash = [0; 32];
    for (byte, nth) in hash.iter_mut().zip((0..64).step_by(2)) {
        *byte = u8::from_str_radix(text.get(nth..nth + 2)?, 16).ok()?;
    }
    Some(hash)
}
