// SPDX-License-Identifier: GPL-3.0-or-later
//
// Independent pieces of work on several threads, their results taken in order.
#pragma once

#include <algorithm>
#include <atomic>
#include <chrono>
#include <condition_variable>
#include <cstddef>
#include <exception>
#include <functional>
#include <malloc.h>
#include <mutex>
#include <thread>
#include <utility>
#include <vector>

namespace lull {

/// Runs pieces 0..count-1 on `threads` threads and hands each result to `consume` in order, on the
/// calling thread. At most twice `threads` results wait, so memory does not grow with count.
///
/// \param make_worker  called once on each thread; gives the function that does a piece. It gets
///                     the number of the piece and a flag that tells it to give up early.
/// \param consume      (number, result), in order
/// \param poll         called on the calling thread several times a second; may throw
/// The fault of the lowest-numbered piece that failed is rethrown when all threads have ended.
template <class Result>
class OrderedWork {
  public:
    using Piece = std::function<Result(std::size_t, const std::atomic<bool>& stop)>;

    static void run(std::size_t count, int threads, const std::function<Piece()>& make_worker,
                    const std::function<void(std::size_t, Result&&)>& consume,
                    const std::function<void()>& poll) {
        OrderedWork work(count, static_cast<std::size_t>(threads > 0 ? threads : 1));
        try {
            work.start(make_worker); // a system that grants no further thread says so
            work.drain(consume, poll);
        } catch (...) {
            work.finish();
            throw;
        }
        work.finish();
    }

  private:
    OrderedWork(std::size_t count, std::size_t threads)
        : count_(count), thread_count_(std::min(threads, count)), outcomes_(2 * threads) {
        threads_.reserve(thread_count_);
    }

    void start(const std::function<Piece()>& make_worker) {
        for (std::size_t i = 0; i < thread_count_; ++i)
            threads_.emplace_back([this, &make_worker] { work_until_done(make_worker); });
    }

    void work_until_done(const std::function<Piece()>& make_worker) {
        Piece piece;
        for (;;) {
            std::size_t number = 0;
            {
                std::unique_lock lock(mutex_);
                changed_.wait(lock, [this] {
                    return stop_ || next_ >= count_ || next_ < consumed_ + outcomes_.size();
                });
                if (stop_ || next_ >= count_) return;
                number = next_++;
            }
            Outcome outcome;
            outcome.is_there = true;
            try {
                if (!piece) piece = make_worker();
                outcome.result = piece(number, stop_);
            } catch (...) {
                outcome.fault = std::current_exception();
            }
            const std::scoped_lock lock(mutex_);
            outcome_of(number) = std::move(outcome);
            changed_.notify_all();
        }
    }

    void drain(const std::function<void(std::size_t, Result&&)>& consume,
               const std::function<void()>& poll) {
        poll();
        for (std::size_t number = 0; number < count_; ++number) {
            Outcome outcome = take(number, poll);
            if (outcome.fault) std::rethrow_exception(outcome.fault);
            consume(number, std::move(outcome.result));
            const std::scoped_lock lock(mutex_);
            consumed_ = number + 1;
            changed_.notify_all();
        }
        poll();
    }

    struct Outcome {
        bool is_there = false;
        Result result{};
        std::exception_ptr fault;
    };

    Outcome& outcome_of(std::size_t number) { return outcomes_[number % outcomes_.size()]; }

    Outcome take(std::size_t number, const std::function<void()>& poll) {
        std::unique_lock lock(mutex_);
        while (!outcome_of(number).is_there) {
            changed_.wait_for(lock, std::chrono::milliseconds(100));
            lock.unlock();
            poll();
            lock.lock();
        }
        return std::exchange(outcome_of(number), Outcome{});
    }

    void finish() {
        {
            const std::scoped_lock lock(mutex_);
            stop_ = true;
            changed_.notify_all();
        }
        for (std::thread& thread : threads_)
            thread.join();
        // Results that stay lie between what the threads have freed; over a night that adds up.
        ::malloc_trim(0);
    }

    std::size_t count_, thread_count_;
    std::size_t next_ = 0, consumed_ = 0;
    std::atomic<bool> stop_ = false;
    /// As many as may wait, all made at the start: a thread that needed memory to hand its outcome
    /// over could not say that there is none.
    std::vector<Outcome> outcomes_;
    std::vector<std::thread> threads_;
    std::mutex mutex_;
    std::condition_variable changed_;
};

} // namespace lull
