"""The SMTP backend of notices: Django's own, without parsing what is known to be plain."""

from django.core.mail import EmailMessage
from django.core.mail.backends import smtp

from schedule.notices.emails import PLAIN_ADDRESS, NoticeMail


class EmailBackend(smtp.EmailBackend):
    """Sends a notice's own bytes; every other mail goes as Django sends it."""

    # The last address that had to be parsed: as a rule the sender of all.
    _sender = ("", "")

    def _send(self, email_message: EmailMessage) -> bool:
        if not isinstance(email_message, NoticeMail):
            return bool(super()._send(email_message))  # type: ignore[misc]
        sender, *recipients = (
            self.prep_address(address)
            for address in (email_message.from_email, *email_message.recipients())
        )
        assert self.connection is not None
        self.connection.sendmail(sender, recipients, email_message.as_bytes())
        return True

    def prep_address(self, address: str, force_ascii: bool = True) -> str:
        if PLAIN_ADDRESS.fullmatch(address):
            return address
        if address != self._sender[0]:
            self._sender = address, str(super().prep_address(address, force_ascii=force_ascii))
        return self._sender[1]
