// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/audio_file.hpp"

#include "error.hpp"
#include "recording/header.hpp"
#include "recording/internal/file_source.hpp"
#include "recording/internal/flac_frames.hpp"
#include "recording/internal/miniseed.hpp"
#include "recording/internal/mpeg_decoder.hpp"
#include "recording/internal/mpeg_frames.hpp"
#include "recording/internal/ogg_pages.hpp"
#include "recording/internal/spool.hpp"
#include "recording/internal/take_spool.hpp"

#include <fmt/format.h>
#include <sndfile.h>

#include <algorithm>
#include <cstring>
#include <utility>
#include <vector>

namespace lull {
namespace {

/// Turns "WAV (Microsoft)" and "Signed 24 bit PCM" into "WAV, signed 24-bit PCM".
std::string format_name(int format) {
    SF_FORMAT_INFO major{}, subtype{};
    major.format = format & SF_FORMAT_TYPEMASK;
    subtype.format = format & SF_FORMAT_SUBMASK;
    sf_command(nullptr, SFC_GET_FORMAT_INFO, &major, sizeof major);
    sf_command(nullptr, SFC_GET_FORMAT_INFO, &subtype, sizeof subtype);
    std::string kind = major.name != nullptr ? major.name : "unknown";
    std::string samples = subtype.name != nullptr ? subtype.name : "unknown";
    kind = kind.substr(0, kind.find(" ("));
    if (samples.starts_with("Signed ") || samples.starts_with("Unsigned ")) samples[0] |= 0x20;
    if (const std::size_t bit = samples.find(" bit"); bit != std::string::npos) samples[bit] = '-';
    return kind + ", " + samples;
}

bool holds_only_integers(int format) {
    switch (format & SF_FORMAT_SUBMASK) {
    case SF_FORMAT_PCM_S8:
    case SF_FORMAT_PCM_U8:
    case SF_FORMAT_PCM_16:
    case SF_FORMAT_PCM_24:
    case SF_FORMAT_PCM_32:
        return true;
    default:
        return false;
    }
}

std::string fixed_text(const char* field, std::size_t size) {
    return {field, strnlen(field, size)};
}

void check_limits(const AudioInfo& info, const std::string& path) {
    if (info.tracks < 1 || info.tracks > most_tracks)
        throw_input(path, "", fmt::format("has {} channels", info.tracks),
                    fmt::format("give 1 to {}", most_tracks));
    if (info.rate_hz < lowest_rate_hz || info.rate_hz > highest_rate_hz)
        throw_input(path, "", fmt::format("has a rate of {:g} Hz", info.rate_hz),
                    fmt::format("give {:g} to {:g} Hz", lowest_rate_hz, highest_rate_hz));
}

std::optional<BroadcastChunk> broadcast_chunk(SNDFILE* file) {
    SF_BROADCAST_INFO chunk{};
    if (sf_command(file, SFC_GET_BROADCAST_INFO, &chunk, sizeof chunk) != SF_TRUE)
        return std::nullopt;
    return BroadcastChunk{fixed_text(chunk.description, sizeof chunk.description),
                          fixed_text(chunk.origination_date, sizeof chunk.origination_date),
                          fixed_text(chunk.origination_time, sizeof chunk.origination_time),
                          std::uint64_t{chunk.time_reference_high} << 32U |
                              chunk.time_reference_low};
}

/// Whether the last frame that the header claims can be read.
bool has_frame(SNDFILE* file, Frame frame, int tracks) {
    std::vector<float> one(static_cast<std::size_t>(tracks));
    return frame >= 0 && sf_seek(file, frame, SEEK_SET) == frame &&
           sf_readf_float(file, one.data(), 1) == 1;
}

/// Some formats cannot seek, and PARIS 24-bit is misread unless it is read in whole blocks. The
/// samples of a stretch must not depend on what was read before it.
bool reads_differently_after_seeking(const SF_INFO& info) {
    const int container = info.format & SF_FORMAT_TYPEMASK,
              subtype = info.format & SF_FORMAT_SUBMASK;
    return info.seekable == 0 || (container == SF_FORMAT_PAF && subtype == SF_FORMAT_PCM_24);
}

/// Refuses variable-length codes without a checksum: one wrong bit shifts everything after it.
void refuse_what_cannot_be_checked(const std::string& path, int format) {
    const int container = format & SF_FORMAT_TYPEMASK, subtype = format & SF_FORMAT_SUBMASK;
    const bool is_width_coded = subtype == SF_FORMAT_DWVW_12 || subtype == SF_FORMAT_DWVW_16 ||
                                subtype == SF_FORMAT_DWVW_24 || subtype == SF_FORMAT_DWVW_N;
    const bool is_mpeg = container == SF_FORMAT_MPEG || subtype == SF_FORMAT_MPEG_LAYER_I ||
                         subtype == SF_FORMAT_MPEG_LAYER_II || subtype == SF_FORMAT_MPEG_LAYER_III;
    if (is_width_coded || is_mpeg || container == SF_FORMAT_OGG)
        throw_input(path, "",
                    "is " + format_name(format) + " in a form that cannot be checked for damage",
                    "give it as WAV or FLAC");
}

/// The file with a corrected size in its header; null where the size is right.
std::shared_ptr<const ShownBytes> with_right_size(const SizeField& field, std::int64_t bytes) {
    if (field.width == 0) return nullptr;
    std::string right;
    for (int i = 0; i < field.width; ++i)
        right +=
            static_cast<char>(field.right >> (8 * (field.big_endian ? field.width - 1 - i : i)));
    std::vector<BytePiece> pieces;
    add_piece(pieces, 0, field.at);
    pieces.push_back({0, 0, right});
    add_piece(pieces, field.at + field.width, bytes - field.at - field.width);
    return std::make_shared<ShownBytes>(std::move(pieces));
}

class Examination {
  public:
    Examination(const std::string& path, const std::shared_ptr<FileHandle>& spooled)
        : path_(&path), source_(path, spooled) {
        info_.bytes = source_.size();
    }

    AudioInfo result() {
        ByteWindow file(source_.as_function(), source_.size());
        if (auto miniseed = check_miniseed(*path_, file))
            take_miniseed(std::move(*miniseed));
        else if (const auto mpeg = check_mpeg(*path_, file))
            spool_mpeg(*mpeg);
        else if (const auto ogg = check_ogg(*path_, file))
            spool_ogg(*ogg);
        else if (const auto flac = check_flac(*path_, file))
            open_flac(*flac);
        else
            open_other();
        if (info_.frames <= 0)
            throw_input(*path_, "", "holds 0 frames", "give a recording with samples in it");
        return std::move(info_);
    }

  private:
    void describe(int format) {
        info_.format_code = format;
        info_.format = format_name(format);
        info_.only_integers = holds_only_integers(format);
        check_limits(info_, *path_);
    }
    SF_INFO open() {
        const SF_INFO opened = source_.open_decoder();
        info_.rate_hz = opened.samplerate;
        info_.tracks = opened.channels;
        describe(opened.format);
        info_.broadcast = broadcast_chunk(source_.decoder());
        if (const char* comment = sf_get_string(source_.decoder(), SF_STR_COMMENT))
            info_.comment = comment;
        return opened;
    }
    /// Takes over the results of a check. The rate in info_ is set by then.
    void tell(const IntactSound& sound) {
        info_.frames = sound.end();
        info_.lost = sound.lost();
        info_.reordered = sound.reordered;
        info_.garbled = sound.garbled;
        info_.unplaced = sound.unplaced;
        info_.frames_promised = sound.frames_promised;
        info_.cut_short =
            sound.cut_short || (sound.frames_promised && *sound.frames_promised > info_.frames);
        for (const FrameRange& lost : info_.lost)
            if (static_cast<double>(lost.frames) > longest_loss_s * info_.rate_hz)
                throw_input(*path_, "", "is numbered as if more than a day of it were lost",
                            "give the parts before and after it as files of their own");
    }

    void take_miniseed(AudioInfo info) {
        info.bytes = info_.bytes;
        info_ = std::move(info);
        check_limits(info_, *path_);
    }
    /// Some decoders carry state, so they give other samples after a seek than without one
    /// (measured: libsndfile 1.2.0, Ogg and MPEG).
    void spool_mpeg(const IntactSound& sound) {
        info_.decoded = temporary_file();
        info_.pcm_bytes = sizeof(float);
        const Take& take = sound.takes.front();
        const ShownBytes shown(take.bytes);
        TakeSpool spool(*info_.decoded, take);
        const ReadAt file = source_.as_function();
        const MpegSound mpeg = decode_mpeg(
            *path_,
            [&](std::int64_t offset, std::span<unsigned char> into) {
                return shown.read(file, offset, into);
            },
            shown.size(),
            [&](const MpegSound& decoded, std::span<const float> interleaved) {
                spool.add(decoded.tracks, interleaved);
            });
        spool.check(*path_);
        info_.rate_hz = mpeg.rate_hz;
        info_.tracks = mpeg.tracks;
        info_.comment = mpeg.comment;
        describe(SF_FORMAT_MPEG | (SF_FORMAT_MPEG_LAYER_I + mpeg.layer - 1));
        tell(sound);
    }
    void spool_ogg(const IntactSound& sound) {
        info_.decoded = temporary_file();
        info_.pcm_bytes = sizeof(float);
        for (const Take& take : sound.takes) {
            if (!sound.as_it_is) source_.show(std::make_shared<ShownBytes>(take.bytes));
            open();
            TakeSpool spool(*info_.decoded, take);
            decode(source_.decoder(), info_.tracks,
                   [&](std::span<const float> part) { spool.add(info_.tracks, part); });
            spool.check(*path_);
        }
        tell(sound);
        info_.no_end = sound.cut_short;
    }
    /// Decoding can start at any frame of FLAC, so nothing is decoded here.
    void open_flac(const IntactSound& sound) {
        if (!sound.as_it_is) info_.shown = std::make_shared<ShownBytes>(sound.takes.front().bytes);
        source_.show(info_.shown);
        open();
        tell(sound);
        info_.open_ended = !sound.frames_promised;
        if (!has_frame(source_.decoder(), info_.frames - 1, info_.tracks))
            throw_input(*path_, "", "cannot be decoded to its end", "give it as WAV");
    }
    void open_other() {
        const HeaderPromise promise = header_promise(source_.as_function(), source_.size());
        info_.shown = with_right_size(promise.wrong_size, source_.size());
        source_.show(info_.shown);
        const SF_INFO opened = open();
        refuse_what_cannot_be_checked(*path_, opened.format);
        // The claimed count is kept only if its last frame exists. No size depends on it.
        info_.frames = opened.frames;
        if (reads_differently_after_seeking(opened)) {
            info_.decoded = temporary_file();
            info_.pcm_bytes = sizeof(float);
            std::int64_t at = 0;
            info_.frames =
                decode(source_.decoder(), info_.tracks, [&](std::span<const float> sound) {
                    put(*info_.decoded, at,
                        {reinterpret_cast<const char*>(sound.data()), sound.size_bytes()});
                    at += static_cast<std::int64_t>(sound.size_bytes());
                });
        } else if (opened.frames > 0 &&
                   !has_frame(source_.decoder(), opened.frames - 1, info_.tracks)) {
            source_.open_decoder();
            info_.frames = decode(source_.decoder(), info_.tracks, [](auto) {});
        }
        info_.frames_promised = promise.frames;
        info_.open_ended = promise.open_ended;
        info_.no_end = promise.bytes_missing && !promise.frames;
        info_.cut_short =
            promise.mid_frame || info_.no_end || (promise.frames && *promise.frames > info_.frames);
        read_as_plain(promise, opened.format & SF_FORMAT_SUBMASK);
    }
    /// Plain integers are read without libsndfile.
    void read_as_plain(const HeaderPromise& promise, int subtype) {
        const bool agreed = promise.plain_pcm_bytes == (subtype == SF_FORMAT_PCM_16   ? 2
                                                        : subtype == SF_FORMAT_PCM_24 ? 3
                                                                                      : -1);
        if (agreed && !info_.decoded &&
            promise.frame_bytes == promise.plain_pcm_bytes * info_.tracks &&
            promise.data_at + info_.frames * promise.frame_bytes <= source_.size()) {
            info_.pcm_at = promise.data_at;
            info_.pcm_bytes = promise.plain_pcm_bytes;
        }
    }

    const std::string* path_;
    FileSource source_;
    AudioInfo info_;
};

} // namespace

AudioInfo examine_audio(const std::string& path, const std::shared_ptr<FileHandle>& spooled) {
    return Examination(path, spooled).result();
}

} // namespace lull
