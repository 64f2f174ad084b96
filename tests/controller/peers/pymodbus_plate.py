#!/usr/bin/python3
"""A heated plate made of pymodbus alone, so that our controller meets a device that is not ours.

    pymodbus_plate.py tcp           listens on a free port of 127.0.0.1 and prints it
    pymodbus_plate.py rtu PATH      makes PATH a link to one end of a serial line, answers at the other, prints PATH

Unit 1. Input registers: 0 temperature in 0.1 C, 1 status (2: watchdog has cut the heater), 2 counter of its
steps. Holding registers: 0 duty in 0.001, 1 watchdog time in 0.1 s. Coil 0: fan, coil 1: lets the heater have power.
First order: 700 J/K, 900 W, 1.2 W/K to air of 25 C, stepped every 0.05 s, time ten times as fast as the clock's.
"""

import asyncio
import os
import sys
import time
import tty

from pymodbus.datastore import ModbusSequentialDataBlock, ModbusServerContext, ModbusSlaveContext
from pymodbus.server.async_io import ModbusSerialServer, ModbusTcpServer
from pymodbus.transaction import ModbusRtuFramer

STEP_S, SPEED = 0.05, 10
CAPACITY_J_PER_K, POWER_W, LOSS_W_PER_K, AMBIENT_C = 700, 900, 1.2, 25


class Heard(ModbusSequentialDataBlock):
    """Registers that remember when they were last asked for."""

    last_s = time.monotonic()

    def getValues(self, address, count=1):
        Heard.last_s = time.monotonic()
        return super().getValues(address, count)


async def heat(inputs, holdings, coils):
    """Steps the plate and its watchdog for ever."""
    temperature_c, tripped, counter = AMBIENT_C, False, 0
    while True:
        duty, watchdog_s = holdings.values[0] / 1000, holdings.values[1] / 10
        if duty == 0:
            tripped = False
        elif time.monotonic() - Heard.last_s > watchdog_s:
            tripped = True
        heat_w = 0 if tripped or not coils.values[1] else POWER_W * duty
        loss_w = LOSS_W_PER_K * (temperature_c - AMBIENT_C)
        temperature_c += SPEED * STEP_S * (heat_w - loss_w) / CAPACITY_J_PER_K
        counter = (counter + 1) & 0xFFFF
        inputs.values[:3] = [round(temperature_c * 10), 2 if tripped else 0, counter]
        await asyncio.sleep(STEP_S)


def serial_line(path):
    """Two pseudo-terminals back to back; the client's end gets the link, the device's end's name is returned."""
    ends = [os.openpty() for _ in range(2)]
    for _, name_end in ends:
        tty.setraw(name_end)
    loop = asyncio.get_running_loop()
    for (one, _), (other, _) in (ends, reversed(ends)):
        loop.add_reader(one, lambda one=one, other=other: os.write(other, os.read(one, 512)))
    os.symlink(os.ttyname(ends[0][1]), path)
    return os.ttyname(ends[1][1])


async def main():
    """Serves until killed."""
    inputs = Heard(0, [AMBIENT_C * 10, 0, 0])
    holdings = Heard(0, [0, 100])
    coils = Heard(0, [0, 0])
    device = ModbusSlaveContext(ir=inputs, hr=holdings, co=coils, zero_mode=True)
    context = ModbusServerContext(slaves={1: device}, single=False)
    if sys.argv[1] == "tcp":
        server = ModbusTcpServer(context, address=("127.0.0.1", 0))
        serving = asyncio.create_task(server.serve_forever())
        await server.serving
        print(server.server.sockets[0].getsockname()[1], flush=True)
    else:
        port = serial_line(sys.argv[2])
        server = ModbusSerialServer(
            context, framer=ModbusRtuFramer, port=port, baudrate=19200, ignore_missing_slaves=True
        )
        await server.start()
        serving = asyncio.create_task(server.serve_forever())
        print(sys.argv[2], flush=True)
    await asyncio.gather(serving, heat(inputs, holdings, coils))


if __name__ == "__main__":
    asyncio.run(main())
