#pragma once

#include <atomic>
#include <chrono>
#include <cstring>
#include <memory>
#include <sqlite3.h>
#include <string>
#include <thread>

namespace stripwright {

/// A disk under SQLite that fails as it is told to, for files whose path has `under` in it. Made the default
/// while it lives; every connection must be closed before it goes.
class FailingDisk {
public:
    std::atomic<bool> full = false, syncFails = false;
    std::atomic<int> syncTakesMs = 0;
    std::atomic<long> freeBytes = 0; ///< By so much files can still grow on a full disk.
    std::atomic<int> writesAfterFailure = 0;
    std::string failsOnlyUnder; ///< Empty: everywhere.

    FailingDisk() : under_(sqlite3_vfs_find(nullptr)), vfs_(*under_)
    {
        disk = this;
        vfs_.zName = "failing-disk";
        vfs_.szOsFile = under_->szOsFile + int(sizeof(File));
        vfs_.pNext = nullptr;
        vfs_.xOpen = open;
        sqlite3_vfs_register(&vfs_, 1);
    }
    ~FailingDisk()
    {
        sqlite3_vfs_register(under_, 1);
        sqlite3_vfs_unregister(&vfs_);
        disk = nullptr;
    }

private:
    struct File {
        sqlite3_file base;
        sqlite3_io_methods methods;
        bool hit, failed;
        sqlite3_file* real() { return reinterpret_cast<sqlite3_file*>(this + 1); }
    };
    static File* of(sqlite3_file* file) { return reinterpret_cast<File*>(file); }

    static int open(sqlite3_vfs*, const char* name, sqlite3_file* file, int flags, int* outFlags)
    {
        File* own = of(file);
        own->base.pMethods = nullptr;
        const int result = disk->under_->xOpen(disk->under_, name, own->real(), flags, outFlags);
        if (!own->real()->pMethods)
            return result;
        own->hit = disk->failsOnlyUnder.empty() || (name && std::strstr(name, disk->failsOnlyUnder.c_str()));
        own->failed = false;
        own->methods = *own->real()->pMethods;
        sqlite3_io_methods& m = own->methods;
        m.iVersion = 2;
        m.xClose = [](sqlite3_file* f) { return of(f)->real()->pMethods->xClose(of(f)->real()); };
        m.xRead = [](sqlite3_file* f, void* to, int n, sqlite3_int64 at) {
            return of(f)->real()->pMethods->xRead(of(f)->real(), to, n, at);
        };
        m.xWrite = [](sqlite3_file* f, const void* from, int n, sqlite3_int64 at) {
            if (of(f)->failed)
                ++disk->writesAfterFailure;
            if (disk->full && of(f)->hit) {
                sqlite3_int64 size = 0;
                of(f)->real()->pMethods->xFileSize(of(f)->real(), &size);
                const long growth = at + n > size ? long(at + n - size) : 0;
                if (growth > disk->freeBytes)
                    return SQLITE_FULL;
                disk->freeBytes -= growth;
            }
            return of(f)->real()->pMethods->xWrite(of(f)->real(), from, n, at);
        };
        m.xTruncate = [](sqlite3_file* f, sqlite3_int64 n) {
            return of(f)->real()->pMethods->xTruncate(of(f)->real(), n);
        };
        m.xSync = [](sqlite3_file* f, int how) {
            std::this_thread::sleep_for(std::chrono::milliseconds(disk->syncTakesMs));
            if (disk->syncFails && of(f)->hit) {
                of(f)->failed = true;
                return SQLITE_IOERR_FSYNC;
            }
            return of(f)->real()->pMethods->xSync(of(f)->real(), how);
        };
        m.xFileSize = [](sqlite3_file* f, sqlite3_int64* n) {
            return of(f)->real()->pMethods->xFileSize(of(f)->real(), n);
        };
        m.xLock = [](sqlite3_file* f, int l) { return of(f)->real()->pMethods->xLock(of(f)->real(), l); };
        m.xUnlock = [](sqlite3_file* f, int l) { return of(f)->real()->pMethods->xUnlock(of(f)->real(), l); };
        m.xCheckReservedLock = [](sqlite3_file* f, int* l) {
            return of(f)->real()->pMethods->xCheckReservedLock(of(f)->real(), l);
        };
        m.xFileControl = [](sqlite3_file* f, int op, void* arg) {
            return of(f)->real()->pMethods->xFileControl(of(f)->real(), op, arg);
        };
        m.xSectorSize = [](sqlite3_file* f) { return of(f)->real()->pMethods->xSectorSize(of(f)->real()); };
        m.xDeviceCharacteristics = [](sqlite3_file* f) {
            return of(f)->real()->pMethods->xDeviceCharacteristics(of(f)->real());
        };
        m.xShmMap = [](sqlite3_file* f, int page, int n, int extend, void volatile** to) {
            return of(f)->real()->pMethods->xShmMap(of(f)->real(), page, n, extend, to);
        };
        m.xShmLock = [](sqlite3_file* f, int at, int n, int how) {
            return of(f)->real()->pMethods->xShmLock(of(f)->real(), at, n, how);
        };
        m.xShmBarrier = [](sqlite3_file* f) { of(f)->real()->pMethods->xShmBarrier(of(f)->real()); };
        m.xShmUnmap = [](sqlite3_file* f, int remove) {
            return of(f)->real()->pMethods->xShmUnmap(of(f)->real(), remove);
        };
        own->base.pMethods = &own->methods;
        return result;
    }

    inline static FailingDisk* disk = nullptr;
    sqlite3_vfs* under_;
    sqlite3_vfs vfs_;
};

} // namespace stripwright
