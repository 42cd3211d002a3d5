// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/internal/mpeg_frames.hpp"

#include "error.hpp"
#include "recording/internal/tags.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <limits>
#include <numeric>
#include <utility>

namespace lull {
namespace {

constexpr int headers_in_step = 3; ///< consecutive headers needed to find frames again
/// largest number of bytes by which main data begin before their frame
constexpr std::int64_t reservoir = 511;
constexpr Frame decoder_delay = 529; ///< delay of a layer III decoder [frames]

/// Frames that follow one another in the file.
struct MpegRun {
    std::int64_t begin = 0, end = 0; ///< bytes
    std::int64_t frames = 0;
    std::int64_t unsettled = 0; ///< first ones, which a decoder started here gets wrong
};

class MpegWalk {
  public:
    MpegWalk(ByteWindow& file, const MpegFrameHeader& first, std::int64_t end)
        : file_(&file), first_(first), end_(end) {}

    /// All runs. The first begins at `from` and may be empty.
    std::vector<MpegRun> runs(std::int64_t from) {
        std::int64_t at = begin_run(from);
        while (at < end_) {
            const auto header = header_at(at);
            const std::int64_t next = header ? at + header->bytes : at + 1;
            if (header && next > end_) {
                ends_in_frame_ = true;
                break;
            }
            if (header && (next == end_ || header_at(next))) {
                add(*header);
                at = next;
                continue;
            }
            // The frame before a place without a header may itself be damaged.
            const std::int64_t found = found_again(at + 1);
            if (header && found == end_) add(*header); // a tag or other bytes after the last one
            if (found == end_) break;
            at = begin_run(found);
        }
        for (MpegRun& run : runs_)
            settle(run);
        return std::move(runs_);
    }
    [[nodiscard]] bool ends_in_frame() const { return ends_in_frame_; }
    [[nodiscard]] std::int64_t smallest() const { return smallest_; }
    [[nodiscard]] std::int64_t largest() const { return largest_; }

  private:
    std::optional<MpegFrameHeader> header_at(std::int64_t at) {
        const auto header = mpeg_frame_header(file_->at(at, 4));
        const bool fits = header && header->kind == first_.kind && header->tracks == first_.tracks;
        return fits ? header : std::nullopt;
    }
    std::int64_t begin_run(std::int64_t at) {
        runs_.push_back({at, at, 0, 0});
        return at;
    }
    void add(const MpegFrameHeader& header) {
        runs_.back().end += header.bytes;
        ++runs_.back().frames;
        smallest_ = std::min(smallest_, std::int64_t{header.bytes});
        largest_ = std::max(largest_, std::int64_t{header.bytes});
    }
    /// The next place at which headers follow one another.
    std::int64_t found_again(std::int64_t from) {
        while ((from = file_->find(0xFF, from, end_)) < end_) {
            std::int64_t at = from;
            int seen = 0;
            while (seen < headers_in_step && at < end_) {
                const auto header = header_at(at);
                if (!header) break;
                at += header->bytes;
                ++seen;
            }
            if (seen == headers_in_step || (seen > 0 && at == end_)) return from;
            ++from;
        }
        return end_;
    }
    /// Counts the frames after a loss that a decoder gets wrong. A frame is right once its main
    /// data begin after the loss and the frame before it, whose transform overlaps it, is right
    /// too: two frames where a frame has only one transform.
    void settle(MpegRun& run) {
        if (&run == &runs_.front()) return;
        std::int64_t at = run.begin, there = 0;
        for (std::int64_t frame = 0; frame < run.frames && there < reservoir; ++frame) {
            const auto header = header_at(at);
            const auto side = file_->at(at + 4 + (header->has_check ? 2 : 0), 2);
            if (side.size() < 2) break;
            const std::int64_t before =
                header->lower_rates ? side[0] : side[0] << 1U | side[1] >> 7U;
            if (before > there) run.unsettled = frame + 1;
            there += header->bytes - 4 - header->side_bytes;
            at += header->bytes;
        }
        run.unsettled = std::min(run.frames, run.unsettled + (first_.lower_rates ? 2 : 1));
    }

    ByteWindow* file_;
    MpegFrameHeader first_;
    std::int64_t end_;
    std::vector<MpegRun> runs_;
    bool ends_in_frame_ = false;
    std::int64_t smallest_ = std::numeric_limits<int>::max(), largest_ = 1;
};

std::string silent_frame(ByteSpan header_bytes) {
    std::string frame(header_bytes.begin(), header_bytes.end());
    frame[1] = static_cast<char>(frame[1] | 1);  // without a checksum
    frame[2] = static_cast<char>(frame[2] & ~2); // without padding
    const auto header =
        mpeg_frame_header({reinterpret_cast<const unsigned char*>(frame.data()), 4});
    frame.resize(header ? static_cast<std::size_t>(header->bytes) : frame.size());
    return frame;
}

class MpegCheck {
  public:
    MpegCheck(const std::string& path, ByteWindow& file, const MpegFrameHeader& first,
              std::int64_t first_at)
        : path_(&path), file_(&file), first_(first), first_at_(first_at),
          end_(file.size() - trailing_tag_bytes(file)), walk_(file, first, end_) {
        const auto count =
            mpeg_count(file.at(first_at, static_cast<std::size_t>(first.bytes)), first);
        if (!count || count->frames <= 0)
            throw_input(path, "",
                        "is MPEG audio without a count of its frames, so nothing tells whether it "
                        "is whole",
                        "give the recording as the recorder wrote it, or as WAV or FLAC");
        count_ = *count;
        runs_ = walk_.runs(first_at + first.bytes);
        for (const MpegRun& run : runs_)
            there_ += run.frames;
        if (there_ == 0)
            throw_input(path, "", "holds no whole frame of MPEG audio", "give a whole audio file");
    }

    IntactSound result() {
        const std::int64_t missing = count_.frames - there_;
        const std::vector<std::int64_t> losses = losses_of(missing);
        IntactSound sound;
        sound.as_it_is = missing == 0 && runs_.size() == 1;
        sound.cut_short = missing > sum(losses);
        sound.garbled = sound.as_it_is && is_garbled();
        if (runs_.size() > losses.size() + 1) {
            runs_.resize(losses.size() + 1);
            sound.unplaced = "is damaged in several places, and nothing tells how much is lost "
                             "at each: all from the first of them on is left out";
        }
        sound.frames_promised =
            std::max<Frame>(0, count_.frames * first_.frames - skipped() - trimmed());
        sound.takes.push_back(take(losses, *sound.frames_promised));
        return sound;
    }

  private:
    [[noreturn]] void refuse(const std::string& fault) const {
        throw_input(*path_, "", fault, "give the recording as the recorder wrote it");
    }
    /// Frames lost before each run except the first; a shorter list where that is unknown.
    std::vector<std::int64_t> losses_of(std::int64_t missing) const {
        const auto places = std::ssize(runs_) - 1;
        if (missing < places)
            refuse(fmt::format("holds more frames of MPEG audio than the {} that its header counts",
                               count_.frames));
        const bool ends_in_order = !walk_.ends_in_frame() && runs_.back().end == end_;
        if (places == 0) {
            if (missing > 0 && ends_in_order)
                refuse(fmt::format("lacks {} of {} frames of MPEG audio, and nothing tells where",
                                   missing, count_.frames));
            return {};
        }
        if (!ends_in_order) return {};
        if (places == 1) return {missing};
        return losses_by_size(missing);
    }
    /// If all frames have one size, apart from a byte of padding, and no byte is missing, the bytes
    /// of each gap give its number of frames.
    std::vector<std::int64_t> losses_by_size(std::int64_t missing) const {
        if (count_.bytes != end_ - first_at_ || walk_.largest() > walk_.smallest() + 1) return {};
        std::vector<std::int64_t> losses;
        for (std::size_t i = 1; i < runs_.size(); ++i) {
            const std::int64_t bytes = runs_[i].begin - runs_[i - 1].end;
            losses.push_back(bytes / walk_.smallest());
            if (losses.back() * walk_.largest() < bytes) return {};
        }
        return sum(losses) == missing ? losses : std::vector<std::int64_t>{};
    }
    /// Whether the checksum of the whole is wrong although all frames are there.
    bool is_garbled() {
        if (count_.checked_bytes == 0) return false;
        MpegCheckSum check;
        return !count_.is_right ||
               !file_->add_to(check, first_at_ + first_.bytes, first_at_ + count_.checked_bytes) ||
               check.value != count_.check;
    }
    static std::int64_t sum(const std::vector<std::int64_t>& losses) {
        return std::accumulate(losses.begin(), losses.end(), std::int64_t{0});
    }
    /// Frames of sound before the begin of the recording.
    [[nodiscard]] Frame skipped() const {
        return count_.tells_delay ? count_.delay + decoder_delay : 0;
    }
    [[nodiscard]] Frame trimmed() const {
        return count_.tells_delay ? std::max<Frame>(0, count_.padding - decoder_delay) : 0;
    }

    /// Gives the decoder two silent frames in place of each loss, whatever its length.
    Take take(const std::vector<std::int64_t>& losses, Frame end) {
        Take take;
        add_piece(take.bytes, 0, first_at_);
        std::int64_t decoded = 0, at = 0; // MPEG frames: from the decoder, and of the recording
        for (std::size_t i = 0; i < runs_.size(); ++i) {
            const MpegRun& run = runs_[i];
            if (i > 0) {
                const std::string silence = silent_frame(file_->at(run.begin, 4));
                take.bytes.push_back({0, 0, silence});
                take.bytes.push_back({0, 0, silence});
                decoded += 2;
                at += losses[i - 1];
            }
            add_piece(take.bytes, run.begin, run.end - run.begin);
            const Frame first =
                            std::max<Frame>(0, (at + run.unsettled) * first_.frames - skipped()),
                        last = std::min(end, (at + run.frames) * first_.frames - skipped());
            if (last > first)
                take.uses.push_back(
                    {first + skipped() + (decoded - at) * first_.frames, {first, last - first}});
            decoded += run.frames;
            at += run.frames;
        }
        take.frames = decoded * first_.frames;
        return take;
    }

    const std::string* path_;
    ByteWindow* file_;
    MpegFrameHeader first_;
    std::int64_t first_at_, end_;
    MpegWalk walk_;
    MpegCount count_;
    std::vector<MpegRun> runs_;
    std::int64_t there_ = 0; ///< frames in the runs
};

} // namespace

std::optional<IntactSound> check_mpeg(const std::string& path, ByteWindow& file) {
    const std::int64_t first_at = leading_tag_bytes(file);
    const auto first = mpeg_frame_header(file.at(first_at, 4));
    if (!first) return std::nullopt;
    return MpegCheck(path, file, *first, first_at).result();
}

} // namespace lull
