// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/internal/ogg_pages.hpp"

#include "error.hpp"
#include "recording/internal/ogg_codec.hpp"
#include "recording/internal/tags.hpp"

#include <algorithm>
#include <utility>

namespace lull {
namespace {

constexpr std::size_t longest_head = 16 << 20; ///< bytes of the header packets

/// Consecutive pages that the decoder turns into one stretch of sound.
struct OggRun {
    std::size_t first_page = 0, end_page = 0;
    Frame begin = 0, end = 0; ///< granules
    bool placed = false;      ///< begin and end are known
    bool from_start = false;  ///< no page is missing before it
};

class OggCheck {
  public:
    OggCheck(const std::string& path, ByteWindow& file)
        : path_(&path), file_(&file), list_(list_ogg_pages(path, file)) {}

    IntactSound result() {
        read_head();
        for (std::size_t page = head_pages_; page < list_.pages.size(); ++page)
            take(page);
        std::erase_if(runs_, [](const OggRun& run) { return run.end <= run.begin; });
        if (runs_.empty())
            throw_input(*path_, "", "holds no whole page of sound", "give an undamaged copy");
        return sound();
    }

  private:
    [[nodiscard]] const OggPage& page_at(std::size_t page) const { return list_.pages[page]; }

    /// Gives the codec its first packets.
    void read_head() {
        std::string packet;
        std::size_t taken = 0;
        for (bool more = true; more; ++head_pages_) {
            const bool follows =
                head_pages_ < list_.pages.size() && page_at(head_pages_).sequence == head_pages_;
            const OggPageHead head =
                follows ? ogg_page_head(*file_, page_at(head_pages_)) : OggPageHead();
            taken += follows ? static_cast<std::size_t>(page_at(head_pages_).bytes) : 0;
            if (!follows || head.begins_stream != (head_pages_ == 0) || taken > longest_head ||
                head.continues == packet.empty())
                refuse_head();
            std::int64_t at = head.body_at;
            for (std::size_t i = 0; i < head.pieces.size(); ++i) {
                const auto bytes = file_->at(at, static_cast<std::size_t>(head.pieces[i]));
                packet.append(bytes.begin(), bytes.end());
                at += head.pieces[i];
                if (i + 1 == head.pieces.size() && head.last_is_open) break;
                if (!more) refuse_head(); // sound begins on a new page
                more = codec_.take_head(*path_, std::exchange(packet, {}));
            }
        }
        if (!packet.empty()) refuse_head();
    }
    [[noreturn]] void refuse_head() const {
        throw_input(*path_, "", "its head of Ogg pages is damaged, so nothing of it can be decoded",
                    "give an undamaged copy");
    }

    void begin_run(std::size_t page) {
        codec_.restart();
        open_.reset();
        runs_.push_back({page, page, 0, 0, false,
                         runs_.empty() && page == head_pages_ && page_at(page).sequence == page});
    }

    void take(std::size_t page) {
        if (runs_.empty() || page_at(page).sequence != page_at(page - 1).sequence + 1)
            begin_run(page);
        const OggPageHead head = ogg_page_head(*file_, page_at(page));
        Frame granules = take_packets(head);
        if (runs_.back().placed && head.granule > runs_.back().end + granules) {
            begin_run(page); // the time jumps although no page is missing
            granules = take_packets(head);
        }
        runs_.back().end_page = page + 1;
        stream_end_ = head.ends_stream ? std::optional(head.granule) : std::nullopt;
        if (ends_ > 0) place(head, granules);
    }

    /// Granules of the packets that end on the page; ends_ is the number of those packets.
    Frame take_packets(const OggPageHead& head) {
        Frame granules = 0;
        ends_ = 0;
        std::int64_t at = head.body_at;
        for (std::size_t i = 0; i < head.pieces.size(); ++i) {
            const int bytes = head.pieces[i];
            const bool goes_on = head.last_is_open && i + 1 == head.pieces.size();
            const bool is_rest = i == 0 && head.continues;
            if (!is_rest)
                open_ = codec_.granules(file_->at(
                    at, std::min(static_cast<std::size_t>(bytes), OggCodec::longest_packet_head)));
            if (!goes_on) {
                granules += open_.value_or(0); // empty: the rest of a lost packet
                open_.reset();
                ++ends_;
            }
            at += bytes;
        }
        return granules;
    }

    void place(const OggPageHead& head, Frame granules) {
        OggRun& run = runs_.back();
        if (head.granule < 0) refuse_granules();
        if (!run.placed) {
            // The last page may end before its packets do, so it does not show its begin.
            if (head.ends_stream && !run.from_start) return;
            run.begin = head.ends_stream ? 0 : head.granule - granules;
            run.end = head.granule;
            run.placed = true;
            if (run.begin < 0 || run.end > run.begin + granules) refuse_granules();
            return;
        }
        const Frame end = run.end + granules;
        if (head.granule < run.end || (head.granule < end && !head.ends_stream)) refuse_granules();
        run.end = std::min(end, head.granule);
    }
    [[noreturn]] void refuse_granules() const {
        throw_input(*path_, "",
                    "its granule positions do not fit its sound, so its times are unknown",
                    "give it as WAV or FLAC");
    }

    /// The header pages and those of the run. A run within the stream gets page numbers and a first
    /// packet as at the start of a stream.
    std::vector<BytePiece> bytes_of(const OggRun& run, bool within) {
        std::vector<BytePiece> bytes;
        for (std::size_t page = 0; page < head_pages_; ++page) {
            if (within)
                add_renumbered(bytes, *file_, page_at(page),
                               page_at(run.first_page).sequence -
                                   static_cast<std::uint32_t>(head_pages_ - page),
                               page == 0 ? codec_.first_packet_within() : "");
            else
                add_piece(bytes, page_at(page).at, page_at(page).bytes);
        }
        for (std::size_t page = run.first_page; page < run.end_page; ++page)
            add_piece(bytes, page_at(page).at, page_at(page).bytes);
        return bytes;
    }

    IntactSound sound() {
        const Frame base = runs_.front().from_start ? runs_.front().begin : 0;
        IntactSound sound;
        sound.reordered = list_.reordered;
        sound.cut_short = !stream_end_;
        sound.as_it_is = runs_.size() == 1 && list_.gapless && !list_.reordered &&
                         runs_.front().from_start && base == 0;
        const Frame granule = codec_.granules_per_frame(), skipped = codec_.skipped();
        Frame at = 0;
        for (const OggRun& run : runs_) {
            const bool within = !run.from_start || base != 0;
            const Frame start = run.begin - base - skipped; // on the time line
            const Frame left_out = std::max(-start, run.from_start ? 0 : codec_.settling());
            const Frame first = (start + left_out) / granule,
                        end = (run.end - base - skipped) / granule;
            if (end <= first) continue;
            if (first < at) refuse_granules();
            Take take;
            if (!sound.as_it_is) take.bytes = bytes_of(run, within);
            const Frame from = within ? left_out / granule : 0;
            take.frames = from + end - first;
            take.uses.push_back({from, {first, end - first}});
            sound.takes.push_back(std::move(take));
            at = end;
        }
        if (stream_end_) sound.frames_promised = (*stream_end_ - base - skipped) / granule;
        if (sound.takes.empty())
            throw_input(*path_, "", "holds 0 frames", "give a recording with samples in it");
        return sound;
    }

    const std::string* path_;
    ByteWindow* file_;
    OggPages list_;
    OggCodec codec_;
    std::size_t head_pages_ = 0;
    std::vector<OggRun> runs_;
    std::optional<Frame> open_;       ///< granules of the packet that has begun and not ended
    int ends_ = 0;                    ///< packets that end on the page
    std::optional<Frame> stream_end_; ///< granule of the last page, if it is marked as the last
};

} // namespace

std::optional<IntactSound> check_ogg(const std::string& path, ByteWindow& file) {
    if (!begins_with(file.at(0, 4), "OggS")) return std::nullopt;
    return OggCheck(path, file).result();
}

} // namespace lull
