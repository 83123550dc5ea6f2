"""A progress that nobody watches."""


class Quiet:
    def stage(self, text: str) -> None:
        pass

    def share(self, done: float) -> None:
        pass
