"""The app's own care: it goes on whatever one round of it meets."""

import asyncio

from bloomless.web.app import _look_after


def test_one_bad_round_does_not_end_the_care(monkeypatch, caplog):
    rounds = []

    class Bowls:
        def look_after(self):
            rounds.append(1)
            if len(rounds) == 1:
                raise OSError("the disk slept")

    slept = asyncio.sleep

    async def soon(_seconds):
        await slept(0)
        if len(rounds) >= 3:
            raise asyncio.CancelledError

    monkeypatch.setattr("bloomless.web.app.asyncio.sleep", soon)

    async def care():
        task = asyncio.create_task(_look_after(Bowls()))
        await asyncio.wait([task], timeout=10)
        assert task.cancelled()

    asyncio.run(care())
    assert len(rounds) == 3
    assert "the disk slept" in caplog.text
