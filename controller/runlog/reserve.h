#pragma once

#include <filesystem>

namespace stripwright {

constexpr std::uintmax_t freeBytesToStart = 50u << 20;

/// Makes the folder of a run log if need be; throws RunLogError unless a run may start there.
void checkRoom(const std::filesystem::path& log);

/// Space held beside a run log, to be freed when the disk is full.
class Reserve {
public:
    static constexpr off_t bytes = 4 << 20;

    explicit Reserve(const std::filesystem::path& log) : file_(log.string() + ".reserve") {}
    ~Reserve() { free(); }
    Reserve(const Reserve&) = delete;
    Reserve& operator=(const Reserve&) = delete;

    void take(); ///< No reserve is no reason not to run: there are 50 MiB.
    void free();
    bool taken() const { return taken_; }
    bool roomAgain() const; ///< The reserve could be taken again, with as much to spare.

private:
    std::filesystem::path file_;
    bool taken_ = false;
};

} // namespace stripwright
