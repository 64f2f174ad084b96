#include "messages/patient_output.h"

#include <atomic>
#include <cerrno>
#include <chrono>
#include <condition_variable>
#include <fcntl.h>
#include <mutex>
#include <signal.h>
#include <stdexcept>
#include <string>
#include <thread>
#include <unistd.h>
#include <utility>

namespace stripwright {

static constexpr size_t mostWaitingBytes = 4u << 20;

struct PatientOutput::Work {
    int descriptor = -1, reader = -1, pipe = -1; // the descriptor, what it was, where it leads now
    bool terminal = false;
    std::mutex mutex;
    std::condition_variable changed;
    std::string waiting;
    size_t dropped = 0;
    bool closed = false, done = false;
    std::atomic<bool> gone = false;
    std::thread taking;

    void take();
    void handOn();
};

static void withoutSignals()
{
    sigset_t all;
    sigfillset(&all);
    pthread_sigmask(SIG_BLOCK, &all, nullptr);
}

void PatientOutput::Work::take()
{
    withoutSignals();
    char bytes[16384];
    for (;;) {
        const ssize_t count = read(pipe, bytes, sizeof bytes);
        if (count < 0 && errno == EINTR)
            continue;
        const std::lock_guard lock(mutex);
        if (count <= 0) {
            closed = true;
            changed.notify_all();
            return;
        }
        if (waiting.size() + static_cast<size_t>(count) > mostWaitingBytes) {
            dropped += static_cast<size_t>(count);
        } else {
            if (dropped > 0)
                waiting += "\n[" + std::to_string(std::exchange(dropped, 0)) + " bytes not shown]\n";
            waiting.append(bytes, static_cast<size_t>(count));
        }
        changed.notify_all();
    }
}

void PatientOutput::Work::handOn()
{
    withoutSignals();
    for (;;) {
        std::string now;
        {
            std::unique_lock lock(mutex);
            changed.wait(lock, [this] { return closed || !waiting.empty(); });
            if (waiting.empty()) {
                done = true;
                changed.notify_all();
                return;
            }
            now = std::exchange(waiting, {});
        }
        for (size_t written = 0; written < now.size() && !gone;) {
            const ssize_t count = write(reader, now.data() + written, now.size() - written);
            if (count > 0)
                written += static_cast<size_t>(count);
            else if (errno == EAGAIN)
                std::this_thread::sleep_for(std::chrono::milliseconds(20));
            else if (errno != EINTR)
                gone = true;
        }
    }
}

PatientOutput::PatientOutput(int descriptor) : work_(std::make_shared<Work>())
{
    signal(SIGPIPE, SIG_IGN);
    work_->descriptor = descriptor;
    work_->terminal = isatty(descriptor);
    int ends[2];
    work_->reader = fcntl(descriptor, F_DUPFD_CLOEXEC, 3);
    if (work_->reader < 0 || pipe2(ends, O_CLOEXEC) != 0)
        throw std::runtime_error("no pipe for what is said");
    work_->pipe = ends[0];
    dup2(ends[1], descriptor);
    close(ends[1]);
    work_->taking = std::thread([work = work_.get()] { work->take(); });
    // It may stand in a write for ever: it is left behind then, with what it works on.
    std::thread([work = work_] { work->handOn(); }).detach();
}

PatientOutput::~PatientOutput()
{
    end();
}

bool PatientOutput::end(std::chrono::milliseconds patience)
{
    if (work_->taking.joinable()) {
        dup2(work_->reader, work_->descriptor); // the last end of the pipe: take() comes to its end
        work_->taking.join();
        close(work_->pipe);
    }
    std::unique_lock lock(work_->mutex);
    work_->changed.wait_for(lock, patience, [this] { return work_->done; });
    return work_->done && !work_->gone && work_->dropped == 0;
}

bool PatientOutput::isTerminal() const
{
    return work_->terminal;
}

bool PatientOutput::readerGone() const
{
    return work_->gone;
}

} // namespace stripwright
