// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/internal/flac_frames.hpp"

#include "error.hpp"
#include "recording/internal/checksum.hpp"
#include "recording/internal/tags.hpp"

#include <algorithm>
#include <utility>

namespace lull {
namespace {

constexpr std::int64_t info_bytes = 34;
constexpr std::int64_t longest_comment = 1 << 20;
/// Limit for headers with a right checksum that lie within a frame by chance.
constexpr int most_false_headers = 8;

struct Metadata {
    FlacStreamInfo stream;
    std::int64_t info_at = 0;
    std::int64_t comment_at = 0, comment_bytes = 0; ///< with its block header
    std::int64_t end = 0;                           ///< where the first frame should begin
};

std::optional<Metadata> read_metadata(ByteWindow& file) {
    Metadata found;
    found.info_at = leading_tag_bytes(file) + 8;
    const auto head = file.at(found.info_at - 8, 8 + info_bytes);
    if (std::ssize(head) < 8 + info_bytes || !begins_with(head, "fLaC")) return std::nullopt;
    found.stream = flac_stream_info(head.subspan(8));
    std::int64_t at = found.info_at - 4;
    for (bool last = false; !last;) {
        const auto block = file.at(at, 4);
        if (block.size() < 4) return found; // the chain is broken; search for frames
        last = (block[0] & 0x80U) != 0;
        const std::int64_t bytes = 4 + (block[1] << 16U | block[2] << 8U | block[3]);
        if ((block[0] & 0x7FU) == 4) {
            found.comment_at = at;
            found.comment_bytes = bytes;
        }
        at += bytes;
        if (at > file.size()) return found;
    }
    found.end = at;
    return found;
}

/// Intact frames that follow one another in the file and in their numbers.
struct FlacRun {
    std::int64_t begin = 0, end = 0; ///< bytes
    bool numbers_frames = false;
    std::uint64_t first = 0, next = 0; ///< numbers
    int block_frames = 0, last_block_frames = 0;
    Frame at = 0, frames = 0; ///< on the time line, once known
};

class FrameWalk {
  public:
    FrameWalk(ByteWindow& file, const FlacStreamInfo& stream)
        : file_(&file), stream_(stream), end_(file.size() - trailing_tag_bytes(file)) {}

    std::vector<FlacRun> runs(std::int64_t from) {
        std::int64_t at = next_header(from);
        while (at < end_) {
            const FlacFrameHeader header = *header_at(at);
            const std::optional<std::int64_t> end = end_of(at, header);
            if (end) add(at, *end, header);
            at = end && *end < end_ && header_at(*end) ? *end : next_header(end.value_or(at + 1));
        }
        return std::move(runs_);
    }
    [[nodiscard]] std::int64_t end() const { return end_; }

  private:
    std::optional<FlacFrameHeader> header_at(std::int64_t at) {
        return flac_frame_header(file_->at(at, longest_flac_header), stream_);
    }
    /// The next place that looks like the first two bytes of a frame.
    std::int64_t next_sync(std::int64_t from, std::int64_t until) {
        while ((from = file_->find(0xFF, from, until)) < until) {
            const auto bytes = file_->at(from, 2);
            if (bytes.size() == 2 && (bytes[1] & 0xFEU) == 0xF8U) return from;
            ++from;
        }
        return until;
    }
    std::int64_t next_header(std::int64_t from) {
        while ((from = next_sync(from, end_)) < end_ && !header_at(from))
            ++from;
        return from;
    }
    /// The end of the frame: where the checksum is 0 and the next header or the end of the file
    /// follows. Otherwise where at least the first two bytes of a header follow; that header is
    /// damaged.
    std::optional<std::int64_t> end_of(std::int64_t begin, const FlacFrameHeader& header) {
        // A side channel has one bit more. What an encoder cannot compress it stores as it is.
        const std::int64_t most_bytes =
            64 + std::int64_t{stream_.tracks} *
                     (8 + std::int64_t{header.block_frames} * (stream_.bits + 1) / 8);
        const std::int64_t until = std::min(end_, begin + most_bytes);
        FlacFrameCheck check;
        std::int64_t summed = begin;
        std::optional<std::int64_t> likely;
        int headers = 0;
        for (std::int64_t at = begin + header.bytes;
             (at = next_sync(at, until)) < until && headers < most_false_headers; ++at) {
            file_->add_to(check, summed, at);
            summed = at;
            const bool begins_one = header_at(at).has_value();
            if (check.value == 0 && begins_one) return at;
            if (check.value == 0 && !likely) likely = at;
            headers += begins_one ? 1 : 0;
        }
        if (likely || headers == most_false_headers || until < end_) return likely;
        file_->add_to(check, summed, end_);
        return check.value == 0 ? std::optional(end_) : std::nullopt;
    }
    void add(std::int64_t begin, std::int64_t end, const FlacFrameHeader& header) {
        const std::uint64_t next =
            header.number +
            (header.numbers_frames ? 1U : static_cast<unsigned>(header.block_frames));
        if (!runs_.empty()) {
            FlacRun& run = runs_.back();
            const bool follows = run.end == begin && run.numbers_frames == header.numbers_frames &&
                                 run.next == header.number;
            const bool even =
                !header.numbers_frames || (run.last_block_frames == run.block_frames &&
                                           header.block_frames <= run.block_frames);
            if (follows && even) {
                run.end = end;
                run.next = next;
                run.last_block_frames = header.block_frames;
                return;
            }
        }
        runs_.push_back({begin, end, header.numbers_frames, header.number, next,
                         header.block_frames, header.block_frames, 0, 0});
    }

    ByteWindow* file_;
    FlacStreamInfo stream_;
    std::int64_t end_;
    std::vector<FlacRun> runs_;
};

/// Numbered frames have one size, except the last of the stream.
void place(std::vector<FlacRun>& runs) {
    int block_frames = 0;
    for (const FlacRun& run : runs)
        if (run.numbers_frames) block_frames = std::max(block_frames, run.block_frames);
    for (FlacRun& run : runs) {
        const Frame scale = run.numbers_frames ? block_frames : 1;
        run.at = static_cast<Frame>(run.first) * scale;
        run.frames = run.numbers_frames ? static_cast<Frame>(run.next - run.first - 1) * scale +
                                              run.last_block_frames
                                        : static_cast<Frame>(run.next - run.first);
    }
}

/// Sorts by time and keeps each frame once. Returns whether any was in the wrong place.
bool put_in_order(std::vector<FlacRun>& runs) {
    const bool ordered = std::ranges::is_sorted(runs, {}, &FlacRun::at);
    std::ranges::stable_sort(runs, {}, &FlacRun::at);
    Frame end = 0;
    const auto doubled = std::erase_if(runs, [&end](const FlacRun& run) {
        if (run.at < end) return true;
        end = run.at + run.frames;
        return false;
    });
    return !ordered || doubled > 0;
}

std::string big(std::uint64_t value, int bytes) {
    std::string text;
    for (int i = bytes - 1; i >= 0; --i)
        text += static_cast<char>(value >> (8 * i) & 0xFFU);
    return text;
}

/// The stream's own description with the right number of frames, and without frame sizes and the
/// digest of the samples. Of the other blocks only a comment stays, since they give positions of
/// frames that may have moved.
std::vector<BytePiece> mended_head(ByteWindow& file, const Metadata& metadata, Frame frames) {
    const auto info = file.at(metadata.info_at, info_bytes);
    std::string mended(reinterpret_cast<const char*>(info.data()), info.size());
    const std::uint64_t count_mask = (std::uint64_t{1} << 36U) - 1;
    std::uint64_t packed = 0;
    for (std::size_t i = 10; i < 18; ++i)
        packed = packed << 8U | info[i];
    packed = (packed & ~count_mask) | (static_cast<std::uint64_t>(frames) & count_mask);
    mended.replace(4, 6, std::string(6, '\0')).replace(10, 8, big(packed, 8));
    mended.replace(18, 16, std::string(16, '\0'));
    const bool commented =
        metadata.comment_bytes > 0 && metadata.end > 0 && metadata.comment_bytes <= longest_comment;
    const char last = '\x80';
    std::vector<BytePiece> head;
    head.push_back(
        {0, 0, "fLaC" + std::string(1, commented ? '\0' : last) + big(info_bytes, 3) + mended});
    if (commented) {
        head.push_back({0, 0, std::string(1, static_cast<char>(0x84))});
        add_piece(head, metadata.comment_at + 1, metadata.comment_bytes - 1);
    }
    return head;
}

} // namespace

std::optional<IntactSound> check_flac(const std::string& path, ByteWindow& file) {
    const std::optional<Metadata> metadata = read_metadata(file);
    if (!metadata) return std::nullopt;
    FrameWalk walk(file, metadata->stream);
    std::vector<FlacRun> runs = walk.runs(metadata->info_at + info_bytes);
    if (runs.empty())
        throw_input(path, "", "holds no whole frame of FLAC that fits its header",
                    "give a whole audio file");
    place(runs);
    IntactSound sound;
    sound.reordered = put_in_order(runs);
    const Frame end = runs.back().at + runs.back().frames, promised = metadata->stream.frames;
    if (runs[0].at > 0 && runs[0].begin == metadata->end && (promised == 0 || end > promised))
        throw_input(
            path, "",
            "its frames are not numbered from 0, so nothing tells whether its beginning is lost",
            "give it as WAV");
    if (promised > 0) sound.frames_promised = promised;
    sound.cut_short = runs.back().end != walk.end() && end != promised;
    sound.as_it_is = runs.size() == 1 && runs[0].at == 0 && runs[0].begin == metadata->end &&
                     runs[0].end == walk.end() && end == promised;
    Take take{
        sound.as_it_is ? std::vector<BytePiece>{} : mended_head(file, *metadata, end), end, {}};
    for (const FlacRun& run : runs) {
        add_piece(take.bytes, run.begin, run.end - run.begin);
        take.uses.push_back({run.at, {run.at, run.frames}});
    }
    sound.takes.push_back(std::move(take));
    return sound;
}

} // namespace lull
