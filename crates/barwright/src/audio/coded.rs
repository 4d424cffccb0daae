//! Every form but WAV, through symphonia, with what the files promise checked against what they hold.
//!
//! Rate and channels come from the first decoded packet, never from the container: M4A often tells none or the wrong
//! ones (a mono take told as stereo, a doubled rate for AAC with spectral band replication).
use super::blocks::{Blocks, Spec, check_finite};
use super::kind::Form;
use crate::error::Refused;
use std::panic::{AssertUnwindSafe, catch_unwind};
use symphonia::core::audio::GenericAudioBufferRef;
use symphonia::core::codecs::audio::{AudioCodecParameters, AudioDecoder, AudioDecoderOptions};
use symphonia::core::errors::Error;
use symphonia::core::formats::probe::Hint;
use symphonia::core::formats::{FormatOptions, FormatReader, TrackType};
use symphonia::core::io::{MediaSource, MediaSourceStream};
use symphonia::core::meta::MetadataOptions;

/// A file may hold fewer samples than it promises by this much: encoders round to whole packets (8192 in Ogg Vorbis,
/// the largest in use), and the encoder's own delay is taken off.
const SLACK_FRAMES: u64 = 8192;
/// Packets without any sound that are passed over before a file counts as damaged.
const MOST_EMPTY_PACKETS: usize = 10_000;

/// A coded recording being read.
pub(super) struct Coded<'a> {
    form: Form,
    reader: Box<dyn FormatReader + 'a>,
    decoder: Box<dyn AudioDecoder>,
    track: u32,
    spec: Spec,
    /// The first packet's samples, decoded to learn the spec.
    first: Option<Vec<f32>>,
    frames_done: u64,
    ended: bool,
}

impl<'a> Coded<'a> {
    pub fn open(source: Box<dyn MediaSource + 'a>, form: Form) -> Result<Self, Refused> {
        let reader = guarded(form, || {
            let stream = MediaSourceStream::new(source, Default::default());
            let mut hint = Hint::new();
            hint.with_extension(form.extension());
            let (format, metadata) = (FormatOptions::default(), MetadataOptions::default());
            symphonia::default::get_probe().probe(&hint, stream, format, metadata).map_err(|e| damaged(form, 0.0, &e))
        })?;
        let track = reader.default_track(TrackType::Audio).ok_or_else(|| no_track(form, reader.as_ref()))?;
        let Some(params) = track.codec_params.as_ref().and_then(|p| p.audio()) else {
            return Err(no_track(form, reader.as_ref()));
        };
        let (id, frames, told_rate_hz) = (track.id, track.num_frames, params.sample_rate);
        let decoder = guarded(form, || make_decoder(form, params))?;
        // Until the first packet is decoded nothing is known of rate and channels.
        let spec = Spec { rate_hz: 0, told_rate_hz, channels: 0, bits: None, frames };
        let mut coded = Self { form, reader, decoder, track: id, spec, first: None, frames_done: 0, ended: false };
        let mut first = Vec::new();
        if !coded.decode_next(&mut first)? {
            return Err(super::empty());
        }
        coded.first = Some(first);
        Ok(coded)
    }

    /// Decodes the next packet of the track that holds sound.
    fn decode_next(&mut self, block: &mut Vec<f32>) -> Result<bool, Refused> {
        let form = self.form;
        guarded(form, AssertUnwindSafe(|| self.decode_unguarded(block)))
    }

    fn decode_unguarded(&mut self, block: &mut Vec<f32>) -> Result<bool, Refused> {
        for _ in 0..MOST_EMPTY_PACKETS {
            let packet = match self.reader.next_packet() {
                Ok(Some(packet)) => packet,
                Ok(None) => return Ok(false),
                // The file ends in the middle of a packet; whether it is too short is asked at the end.
                Err(Error::IoError(error)) if error.kind() == std::io::ErrorKind::UnexpectedEof => return Ok(false),
                Err(error) => return Err(damaged(self.form, self.at_s(), &error)),
            };
            if packet.track_id != self.track {
                continue;
            }
            match self.decoder.decode(&packet) {
                Ok(decoded) if decoded.frames() == 0 => {}
                Ok(decoded) => {
                    take(&decoded, &mut self.spec, self.form)?;
                    decoded.copy_to_vec_interleaved(block);
                    return Ok(true);
                }
                // Takes cut out of a longer MP3 begin with packets that lean on ones that are gone.
                Err(Error::DecodeError(_)) if self.frames_done == 0 && self.first.is_none() => {}
                // A gap would be taken for a blow, and the ring behind it for another.
                Err(error) => return Err(damaged(self.form, self.at_s(), &error)),
            }
        }
        Err(damaged(self.form, self.at_s(), &Error::LimitError("too many packets without sound")))
    }

    fn at_s(&self) -> f64 {
        self.frames_done as f64 / f64::from(self.spec.rate_hz.max(1))
    }

    /// At the end: does the file hold what it promised?
    fn check_end(&mut self) -> Result<(), Refused> {
        if let Some(promised) = self.spec.frames.filter(|promised| self.frames_done + SLACK_FRAMES < *promised) {
            let rate = f64::from(self.spec.rate_hz);
            return Err(Refused::new(
                "truncated",
                format!(
                    "the {} file is truncated: it promises {:.2} s of sound, {:.2} s are present",
                    self.form.name(),
                    promised as f64 / rate,
                    self.frames_done as f64 / rate
                ),
                "copy the recording again, or export it again from the recorder",
            ));
        }
        if self.decoder.finalize().verify_ok == Some(false) {
            let differs = Error::DecodeError("its checksum does not fit its sound");
            return Err(damaged(self.form, self.at_s(), &differs));
        }
        Ok(())
    }
}

impl Blocks for Coded<'_> {
    fn spec(&self) -> &Spec {
        &self.spec
    }

    fn next(&mut self, block: &mut Vec<f32>) -> Result<bool, Refused> {
        block.clear();
        let more = match self.first.take() {
            Some(first) => {
                *block = first;
                true
            }
            None => !self.ended && self.decode_next(block)?,
        };
        if !more {
            if !self.ended {
                self.ended = true;
                self.check_end()?;
            }
            return Ok(false);
        }
        check_finite(block, &self.spec, self.frames_done)?;
        self.frames_done += (block.len() / self.spec.channels.max(1)) as u64;
        Ok(true)
    }
}

/// Takes rate and channels from a decoded packet; they may not change on the way.
fn take(decoded: &GenericAudioBufferRef<'_>, spec: &mut Spec, form: Form) -> Result<(), Refused> {
    let (rate_hz, channels) = (decoded.spec().rate(), decoded.spec().channels().count());
    if spec.channels == 0 {
        (spec.rate_hz, spec.channels) = (rate_hz, channels);
    }
    if (rate_hz, channels) != (spec.rate_hz, spec.channels) || channels == 0 {
        return Err(Refused::new(
            "damaged",
            format!(
                "the {} recording changes from {} Hz and {} channels to {rate_hz} Hz and {channels}: it was put together from several",
                form.name(),
                spec.rate_hz,
                spec.channels
            ),
            "give the parts one by one",
        ));
    }
    Ok(())
}

fn make_decoder(form: Form, params: &AudioCodecParameters) -> Result<Box<dyn AudioDecoder>, Refused> {
    // FLAC carries a checksum of its sound.
    let options = AudioDecoderOptions::default().verify(form == Form::Flac);
    symphonia::default::get_codecs().make_audio_decoder(params, &options).map_err(|error| match error {
        Error::Unsupported(_) => Refused::new(
            "unsupported_codec",
            format!(
                "the {} file holds sound in a coding that is not read (only PCM, FLAC, MP3, AAC-LC, ALAC and Vorbis are)",
                form.name()
            ),
            "export it as WAV, 16-bit or 24-bit PCM",
        ),
        other => damaged(form, 0.0, &other),
    })
}

fn no_track(form: Form, reader: &dyn FormatReader) -> Refused {
    let video = reader.first_track(TrackType::Video).is_some();
    Refused::new(
        "no_sound_track",
        format!(
            "the {} file has {} tracks and none of sound that can be read{}",
            form.name(),
            reader.tracks().len(),
            if video { "; it is a video without sound" } else { "" }
        ),
        "record with the microphone on, and export the sound as WAV",
    )
}

fn damaged(form: Form, at_s: f64, error: &Error) -> Refused {
    let what = match error {
        Error::DecodeError(what) | Error::Unsupported(what) | Error::LimitError(what) => (*what).to_owned(),
        Error::IoError(error) if error.kind() == std::io::ErrorKind::UnexpectedEof => "it ends too early".to_owned(),
        other => other.to_string(),
    };
    Refused::new(
        "damaged",
        format!("the {} file cannot be decoded from {at_s:.2} s on: {what}", form.name()),
        "copy the recording again, or export it as WAV, 16-bit or 24-bit PCM",
    )
}

/// Runs the decoder so that a panic inside it becomes a refusal: its issue tracker shows a few a year on malformed
/// files, and one bad file must not end a folder's listening. What a panic leaves behind is dropped with the file.
fn guarded<T>(form: Form, work: impl FnOnce() -> Result<T, Refused>) -> Result<T, Refused> {
    catch_unwind(AssertUnwindSafe(work))
        .unwrap_or_else(|_| Err(damaged(form, 0.0, &Error::DecodeError("the decoder gave up on it"))))
}
